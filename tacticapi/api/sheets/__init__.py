"""Sheets: templates to fill in a spreadsheet, and filled ones as entries of a match.

Not here: entries sent as JSON (observations, points); sheets of what is kept (tacticapi.api.debrief).
Next: `routes`, `columns` (what a sheet has), `cells` (how one is read).
"""
