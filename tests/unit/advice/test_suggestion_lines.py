"""The line that is shown of a tactic: its words and reasons, its worth beside the others, and where it is aimed."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import pytest

from tacticapi.advice.selection import Value
from tacticapi.advice.suggestions import SuggestionWriter
from tacticapi.domain.advice import Gain, RestsOn, SourceLine, Suggestion, Target
from tacticapi.domain.belief import Belief, Contribution
from tacticapi.domain.firing import Fact, Firing, Priced
from tacticapi.domain.place import Hands
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.situation import Situation
from tacticapi.domain.tactic import Alternative, FactKind, SourceRef
from tacticapi.domain.terms import Moment, Phase, Wing
from tacticapi.inference.danger import Health, Pain
from tacticapi.pricing.match_gain import MatchGain

Price = Callable[..., Priced]
Lines = Callable[..., tuple[Suggestion, ...]]
WELL = Health()
HANDS = Situation(Moment.CHANGE_OF_ENDS, own={"handedness": "left"}, opponent={"handedness": "right"})
PARTS = tuple(Contribution("rally.against_low_ball", Phase.GAMES, 1.0 / n, 2, (), f"part {n}") for n in range(1, 10))
LOW = Belief("weak_low_ball", Wing.BACKHAND, 0.38, 0.7, PARTS)
LOW_FACT = Fact("b", FactKind.BELIEF, "weak_low_ball", {"permille": 700, "wing": "backhand"})


@dataclass(frozen=True)
class Pricer:
    """Match gains as told beforehand, in the order of what is shown."""

    told: tuple[MatchGain, ...]

    def gains(self, shown: Sequence[Priced]) -> list[MatchGain]:
        return list(self.told[: len(shown)])


@pytest.fixture
def lines(rulebook: Rulebook) -> Lines:
    """The suggestions for priced tactics, in a rulebook that has them too."""

    def write(
        *shown: Priced,
        values: dict[str, Value],
        gains: tuple[MatchGain, ...],
        of: Situation = HANDS,
        health: Health = WELL,
    ) -> Any:
        ours = {item.firing.tactic.id: item.firing.tactic for item in shown}
        book = replace(rulebook, tactics={**rulebook.tactics, **ours})
        beliefs = {("weak_low_ball", Wing.BACKHAND): LOW}
        return SuggestionWriter(book, of, beliefs, Pricer(gains), health).write(shown, values)  # type: ignore[arg-type]

    return write


def one(lines: Lines, item: Priced, of: Situation = HANDS, health: Health = WELL) -> Suggestion:
    values = {item.firing.tactic.id: Value(0.01, item.point)}
    (line,) = lines(item, values=values, gains=(MatchGain(0.02, 0.01, 0.03),), of=of, health=health)
    return line


def firing(item: Priced, *facts: Fact, alternative: int = 0, **fields: Any) -> Priced:
    tactic = replace(item.firing.tactic, **fields)
    return replace(item, firing=Firing(tactic, alternative, facts))


def test_gains_are_weighed_by_family_and_held_under_the_ceiling_together(priced: Price, lines: Lines) -> None:
    """Serve points gain 0.03, 0.03 x 0.5 and 0.015: 0.06 in all, twice the ceiling of 0.03, so that all are halved."""
    shown = priced("a", 0.03, 0.0), priced("b", 0.03, 0.0), priced("c", 0.015, 0.0)
    values = {"a": Value(0.0, 0.015), "b": Value(0.0, 0.0075), "c": Value(0.0, 0.0075)}
    gains = tuple(MatchGain(n, n / 2, 2 * n) for n in (0.08, 0.08, 0.04))
    told = lines(*shown, values=values, gains=gains)
    assert [(line.rank, line.tactic) for line in told] == [(1, "a"), (2, "b"), (3, "c")]
    assert [line.gain.point for line in told] == pytest.approx([0.0075, 0.00375, 0.00375])
    assert [line.gain.match for line in told] == pytest.approx([0.04, 0.02, 0.02])  # by half, a quarter, a half
    assert [line.gain.match_low for line in told] == pytest.approx([0.02, 0.01, 0.01])
    assert [line.gain.match_high for line in told] == pytest.approx([0.08, 0.04, 0.04])


def test_a_gain_below_the_ceiling_is_told_as_it_is(priced: Price, lines: Lines) -> None:
    assert one(lines, priced("a", 0.01, 0.02)).gain == Gain(0.015, 0.02, 0.01, 0.03)


def test_a_tactic_that_gains_no_points_is_told_with_its_match_gain_as_it_is(priced: Price, lines: Lines) -> None:
    assert one(lines, priced("a", 0.0, 0.0)).gain == Gain(0.0, 0.02, 0.01, 0.03)


def test_the_words_are_those_of_the_tactic(priced: Price, lines: Lines) -> None:
    item = priced("a", category="serve", caution="not on a wet court", coaches_differ="some wait")
    line = one(lines, item)
    assert (line.category, line.title, line.say, line.why) == ("serve", "a", "a", "it pays")
    assert (line.not_if, line.stop_when, line.risk) == ("never", "look again", "low")
    assert (line.caution, line.coaches_differ) == ("not on a wet court", "some wait")
    assert (line.source, line.sources) == (SourceLine("common practice"), (SourceLine("common practice"),))
    assert (line.because, line.rests_on, line.targets, line.drawn_for) == ((), (), (), None)


@pytest.mark.parametrize(("alternative", "said"), [(0, "a"), (1, "come in behind it")])
def test_an_alternative_may_say_it_in_its_own_words(priced: Price, lines: Lines, alternative: int, said: str) -> None:
    when = (Alternative(()), Alternative((), say="come in behind it"))
    assert one(lines, firing(priced("a"), alternative=alternative, when=when)).say == said


@pytest.mark.parametrize(
    ("sites", "said"),
    [
        (("knee",), "Knee: no sprints"),
        (("calf", "knee"), "Calf and knee: no sprints"),
        (("knee", "other"), "Knee: no sprints"),
        ((), "Place not said: no sprints"),
    ],
)
def test_a_line_names_the_sore_place(priced: Price, lines: Lines, sites: tuple[str, ...], said: str) -> None:
    when = (Alternative((), say="{site}: no sprints"),)
    sore = Health(pain=Pain(1, sites, stops=False))
    assert one(lines, firing(priced("a"), when=when), health=sore).say == said


def test_the_first_source_stands_for_all(priced: Price, lines: Lines, rulebook: Rulebook) -> None:
    first, second = list(rulebook.sources)[:2]
    line = one(lines, priced("a", sources=(SourceRef(first, "a fact"), SourceRef(second, "another"))))
    assert [source.key for source in line.sources] == [first, second]
    assert line.source == line.sources[0]
    assert line.source.backs == "a fact"


def test_the_strongest_six_reasons_are_told_and_what_the_tactic_rests_on(priced: Price, lines: Lines) -> None:
    """Nine parts of two chances each are eighteen chances: a firm read."""
    line = one(lines, firing(priced("a"), LOW_FACT))
    assert [reason.text for reason in line.because] == [f"part {n}" for n in range(1, 7)]
    assert line.rests_on == (RestsOn("weak_low_ball", Wing.BACKHAND, 0.7, "firm read"),)


@pytest.mark.parametrize(
    ("opponent", "targets"),
    [
        ("right", (Target("deuce", "T", Wing.BACKHAND), Target("ad", "wide", Wing.BACKHAND))),
        ("left", (Target("deuce", "wide", Wing.BACKHAND), Target("ad", "T", Wing.BACKHAND))),
        (None, ()),
    ],
)
def test_a_serve_is_aimed_at_the_wing_of_the_reason(
    priced: Price, lines: Lines, opponent: str | None, targets: tuple[Target, ...]
) -> None:
    """The T of the deuce court and the wide spot of the ad court reach the backhand of a right-hander."""
    asked = replace(HANDS, opponent={"handedness": opponent})
    line = one(lines, firing(priced("a"), LOW_FACT, targets="serve-to-wing"), asked)
    assert line.targets == targets
    assert line.drawn_for == Hands("left", opponent, Wing.BACKHAND)
    assert one(lines, firing(priced("a"), LOW_FACT), asked).targets == ()


def test_a_figure_about_court_and_ball_stands_beside_the_tactic_that_it_belongs_to(
    rulebook: Rulebook, priced: Price, lines: Lines
) -> None:
    tactic = rulebook.tactics["cover-cross-smash-leave-line"]
    item = replace(priced("a"), firing=Firing(tactic, 0, ()))
    assert one(lines, item).court is not None
    assert one(lines, priced("a")).court is None
