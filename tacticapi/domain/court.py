"""The court of the singles game, in metres (ITF Rules of Tennis, Rules 1 and 2: law).

One coordinate system everywhere: the origin lies on the ground under the middle of the net; x runs across, positive
to the own player's right as they face the net; y runs along, negative on the own half and positive on the opponent's;
z runs up. Lines are measured to their outside, the centre service line to its middle.
"""

from typing import Final

SINGLES_WIDTH_M: Final = 8.23  # 27 ft
LENGTH_M: Final = 23.77  # 78 ft
SIDELINE_M: Final = SINGLES_WIDTH_M / 2  # from the middle of the court to a singles sideline
BASELINE_M: Final = LENGTH_M / 2  # from the net to a baseline
SERVICE_LINE_M: Final = 6.40  # from the net to a service line, 21 ft
CENTRE_MARK_M: Final = 0.10  # length of the mark in the middle of a baseline, 4 in

NET_CENTRE_HEIGHT_M: Final = 0.914  # 3 ft, held down by a strap
NET_POST_HEIGHT_M: Final = 1.07  # 3 ft 6 in, at a post or a singles stick
POST_OUTSIDE_M: Final = 0.914  # from the sideline to the middle of a post or stick, 3 ft
STICK_M: Final = SIDELINE_M + POST_OUTSIDE_M  # from the middle of the net to a singles stick
DOUBLES_WIDTH_M: Final = 10.97  # 36 ft
DOUBLES_POST_M: Final = DOUBLES_WIDTH_M / 2 + POST_OUTSIDE_M  # from the middle of the net to a post of a doubles net
