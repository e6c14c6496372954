"""What is believed of an opponent across matches, as JSON and as Markdown.

Not here: how earlier matches are weighed (tacticapi.club.dossier).
Next: `routes`, `presenter`.
"""
