"""What a finished match leaves to learn, as JSON, as Markdown and as a page to print; its entries for a spreadsheet.

Not here: what is learned (tacticapi.club.debrief).
Next: `routes`, `presenter` (JSON), `as_markdown`, `as_page`, `words`.
"""
