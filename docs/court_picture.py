"""Draw docs/court.svg, the court with its axes and dimensions: python docs/court_picture.py > docs/court.svg."""

from tacticapi.domain.court import BASELINE_M, SERVICE_LINE_M, SIDELINE_M
from tacticapi.pictures.court import court_picture
from tacticapi.pictures.court_marks import Path, Person, Target
from tacticapi.pictures.svg import alone

RING_M = 0.35


def picture() -> str:
    """Return the picture as a standalone SVG."""
    drawn = court_picture(
        title="The court from above",
        description="Metres from the middle of the net: x across to your right, y along and away from you.",
        paths=[Path(((0.0, 0.0), (SIDELINE_M, 0.0)), "x"), Path(((0.0, 0.0), (0.0, SERVICE_LINE_M)), "y")],
        targets=[
            Target((SIDELINE_M, BASELINE_M), f"x {SIDELINE_M}, y {BASELINE_M}", RING_M),
            Target((-SIDELINE_M, -SERVICE_LINE_M), f"x -{SIDELINE_M}, y -{SERVICE_LINE_M:.2f}", RING_M),
            Target((0.0, 0.0), "origin, under the net", RING_M),
        ],
        people=[
            Person((0.0, -BASELINE_M - 1), "you: y < 0"),
            Person((0.0, BASELINE_M + 1), "opponent: y > 0", own=False),
        ],
        name="coordinates",
    )
    return alone(drawn)


if __name__ == "__main__":
    print(picture())
