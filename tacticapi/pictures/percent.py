"""A share as it is read."""


def percent(share: float) -> str:
    """A share (0 to 1) in whole percent; never 0 or 100 for what is not."""
    whole = round(100 * share)
    if whole == 0 and share > 0:
        return "under 1 %"
    if whole == 100 and share < 1:
        return "over 99 %"
    return f"{whole} %"
