"""Court and ball: what flies where, how risky a shot is, where to stand, how big a gap is enough.

Here: the net and the lines (`dimensions`), flight and bounce, thousands at once (`flight`, `bounce`), a shot's chances
and best aim (`margin`, `window`, `fit`), standing (`stand`), gaps and patterns (`gap`, `patterns`), smash and lob.
Not here: what the numbers are (rules/court.yaml; `numbers` reads them), which tactic wants them (the rulebook).
Metres, seconds, degrees and revolutions a minute throughout, in the coordinates of `domain.court`.
Next: `shot` and `margin`.
"""

from tacticapi.court.arrival import Arrival, arrival, arrivals, turned
from tacticapi.court.ball import Ball, air_density
from tacticapi.court.bounce import Surface, bounced
from tacticapi.court.dimensions import BOXES, COURT, Region, net_height
from tacticapi.court.fit import Fitted, FittedSpread, fitted_spread
from tacticapi.court.flight import Flight, Launch, fly, launched
from tacticapi.court.gap import Gap, Running, gap
from tacticapi.court.lob import Lob, NoLobError, lob_over
from tacticapi.court.margin import BestAim, Margin, Way, best_aims, mirrored, scattered, shot_margin
from tacticapi.court.patterns import PATTERNS, Opening, Pattern, Rally, opening, openings
from tacticapi.court.reach import Mover
from tacticapi.court.serve_window import serve_window
from tacticapi.court.shot import Aim, OutOfReachError, Place, Shot, aimed
from tacticapi.court.smash import Ball as SmashBall
from tacticapi.court.smash import Reply, Smash, across_chance, least_depth, reply_stand
from tacticapi.court.stand import Angles, Stand, bisected, conceded, covering_line, distance, widest
from tacticapi.court.window import Outcome, Spread, Window, outcomes

__all__ = [
    "BOXES",
    "COURT",
    "PATTERNS",
    "Aim",
    "Angles",
    "Arrival",
    "Ball",
    "BestAim",
    "Fitted",
    "FittedSpread",
    "Flight",
    "Gap",
    "Launch",
    "Lob",
    "Margin",
    "Mover",
    "NoLobError",
    "Opening",
    "OutOfReachError",
    "Outcome",
    "Pattern",
    "Place",
    "Rally",
    "Region",
    "Reply",
    "Running",
    "Shot",
    "Smash",
    "SmashBall",
    "Spread",
    "Stand",
    "Surface",
    "Way",
    "Window",
    "across_chance",
    "aimed",
    "air_density",
    "arrival",
    "arrivals",
    "best_aims",
    "bisected",
    "bounced",
    "conceded",
    "covering_line",
    "distance",
    "fitted_spread",
    "fly",
    "gap",
    "launched",
    "least_depth",
    "lob_over",
    "mirrored",
    "net_height",
    "opening",
    "openings",
    "outcomes",
    "reply_stand",
    "scattered",
    "serve_window",
    "shot_margin",
    "turned",
    "widest",
]
