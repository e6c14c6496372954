"""Data ▶ pictures as SVG text, each with a text alternative, that ask for nothing from outside.

Not here: what the figures mean (service), the page around a picture (api). Colours follow the text around them, so a
picture suits light, dark and print. Next: `svg` for the parts, then one file a picture.
"""

from tacticapi.pictures.belief_bars import BeliefBar, belief_bars
from tacticapi.pictures.percent import percent
from tacticapi.pictures.win_curve import CurvePoint, KeyPoint, win_curve

__all__ = ["BeliefBar", "CurvePoint", "KeyPoint", "belief_bars", "percent", "win_curve"]
