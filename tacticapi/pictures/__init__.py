"""Data ▶ pictures as SVG text, each with a text alternative, that ask for nothing from outside.

Not here: what the figures mean (service), the page around a picture (api). Colours follow the text around them, so a
picture suits light, dark and print. Next: `svg` for the parts, `court_marks` for the court.
"""

from tacticapi.pictures.belief_bars import BeliefBar, belief_bars
from tacticapi.pictures.court import court_picture, serve_spots, tactic_picture
from tacticapi.pictures.court_marks import Note, Path, Person, Share, Spread, Target, View
from tacticapi.pictures.svg import alone, percent
from tacticapi.pictures.win_curve import CurvePoint, KeyPoint, win_curve

__all__ = [
    "BeliefBar",
    "CurvePoint",
    "KeyPoint",
    "Note",
    "Path",
    "Person",
    "Share",
    "Spread",
    "Target",
    "View",
    "alone",
    "belief_bars",
    "court_picture",
    "percent",
    "serve_spots",
    "tactic_picture",
    "win_curve",
]
