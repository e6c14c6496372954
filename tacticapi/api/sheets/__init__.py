"""Sheets: templates to fill in a spreadsheet, and filled ones as entries of a match."""
