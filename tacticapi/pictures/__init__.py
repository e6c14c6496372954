"""Data ▶ pictures as SVG text, each with a text alternative, that ask for nothing from outside.

Not here: what the figures mean (service), the page around a picture (api). Colours follow the text around them, so a
picture suits light, dark and print. Next: `svg` for the parts, `court_marks` for the court.
"""
