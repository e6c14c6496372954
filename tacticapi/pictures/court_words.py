"""A spot on the court in words, as the own player sees it."""

from tacticapi.domain.court import BASELINE_M, SERVICE_LINE_M

MIDDLE_M = 0.15  # closer to the middle than this is in the middle


def place_words(spot: tuple[float, float]) -> str:
    """Where a spot (metres) lies: on which half, how far from the middle and from the nearest line across."""
    x, y = spot
    half = "at the net" if y == 0 else f"on {'your' if y < 0 else 'the opposite'} half"
    return ", ".join(part for part in (half, _aside(x), _along(abs(y))) if part)


def _aside(x: float) -> str:
    if abs(x) < MIDDLE_M:
        return "in the middle"
    return f"{abs(x):.1f} m to your {'right' if x > 0 else 'left'} of the middle"


def _along(far: float) -> str:
    if far == 0:
        return ""
    if far > BASELINE_M:
        return f"{far - BASELINE_M:.1f} m behind the baseline"
    if far > (BASELINE_M + SERVICE_LINE_M) / 2:
        return f"{BASELINE_M - far:.1f} m inside the baseline"
    return f"{far:.1f} m from the net"
