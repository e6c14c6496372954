"""Pages for people. A page is filled by the browser through the public API; no page asks this service over HTTP.

Not here: how an answer comes about, and any page to print (tacticapi.api.card, tacticapi.api.debrief).
Next: `match_page` (the routes), `page_data` (what a page is given), `static/main.js`.
"""
