"""Pages for people. A page is filled by the browser through the public API; no page asks this service over HTTP."""
