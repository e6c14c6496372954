"""The schemas that are published, by name."""

from collections.abc import Mapping
from dataclasses import dataclass

POSTED, ANSWERED = "posted", "answered"
SORTS = (POSTED, ANSWERED)


@dataclass(frozen=True, slots=True)
class Named:
    """A published schema: its component in the contract, and whether it is posted or answered."""

    name: str
    component: str
    sort: str

    @property
    def address(self) -> str:
        """Where it is published; also its `$id`."""
        return f"/v1/schemas/{self.name}"


def _named(sort: str, **components: str) -> dict[str, Named]:
    names = {name.replace("_", "-"): component for name, component in components.items()}
    return {name: Named(name, component, sort) for name, component in names.items()}


SCHEMAS: Mapping[str, Named] = {
    **_named(
        POSTED,
        situation="Situation",
        win_chance_question="WinChanceQuestion",
        importance_question="ImportanceQuestion",
        serve_mix_question="ServeMixQuestion",
        court_position_question="CourtPositionQuestion",
        shot_margin_question="ShotMarginQuestion",
        gap_question="GapQuestion",
        new_player="NewPlayer",
        new_match="NewMatch",
        observation="NewObservation",
        point="NewPoint",
        tries="NewTries",
        withdrawal="Withdrawal",
        feedback="NewFeedback",
    ),
    **_named(
        ANSWERED,
        advice="Advice",
        explanation="Explanation",
        match_advice="LiveAdvice",
        given_advice="GivenAdvice",
        win_chance="WinChance",
        importance="ImportanceTable",
        serve_mix="ServeMix",
        court_position="CourtPosition",
        shot_margin="ShotMargin",
        gap="Gap",
        player="Player",
        match="Match",
        receipt="Receipt",
        lines="Lines",
        scored="Scored",
        debrief="Debrief",
        dossier="Dossier",
        problem="Problem",
    ),
}
