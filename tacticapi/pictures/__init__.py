"""Data ▶ pictures as SVG text, each with a text alternative, that ask for nothing from outside.

Not here: what the figures mean (service), the page around a picture (api). Colours follow the text around them, so a
picture suits light, dark and print. Next: `svg` for the parts, then one file a picture.
"""

from tacticapi.pictures.belief_bars import BeliefBar, belief_bars
from tacticapi.pictures.court import court_picture
from tacticapi.pictures.court_marks import Note, Path, Person, Share, Spread, Target
from tacticapi.pictures.court_view import View
from tacticapi.pictures.percent import percent
from tacticapi.pictures.serve_spots import serve_spots
from tacticapi.pictures.svg import alone
from tacticapi.pictures.tactic_place import tactic_picture
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
