"""A figure about court and ball beside a suggestion."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CourtNote:
    """The figure's name, a sentence, and whether it was worked out from what was posted or is the general rule."""

    figure: str
    text: str
    posted: bool
