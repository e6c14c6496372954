"""What a suggestion says, which spot its serve goes to, and the score in one line."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

import pytest

from tacticapi.advice.selection import Value
from tacticapi.advice.suggestions import SuggestionWriter, serve_targets
from tacticapi.advice.words import score_line
from tacticapi.domain.advice import Advice, Gain, RestsOn, SourceLine, Suggestion, Target
from tacticapi.domain.court import Hands
from tacticapi.domain.reasoning import Belief, Contribution, Fact, Firing, Priced
from tacticapi.domain.rules import Alternative, FactKind, Rulebook, SourceRef
from tacticapi.domain.situation import Moment, Phase, Situation, Wing
from tacticapi.pricing.match_gain import MatchGain
from tacticapi.rulebook.danger import Health, Pain
from tacticapi.scoring.formats import Format
from tacticapi.scoring.score import State, next_point

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


# Serve targets: by geometry, for every pair of hands, court and wing --------------------------------------------------


HIDES = [
    {"what": "rally.ran_round_backhand", "count": 10, "of": 12},
    {"what": "return.backhand_in", "count": 3, "of": 12},
]
ALONG = {"left": -1, "right": 1}  # across the court, as the receiver sees it


def spot_by_geometry(hand: str, court: str, wing: Wing) -> str:
    """The receiver stands on the right in the deuce court, on the left in the ad court, and faces the server.

    T lies towards the middle of the court, wide away from it; the forehand is on the side of the hand.
    """
    stands = ALONG["right" if court == "deuce" else "left"]
    stroke = ALONG[hand] if wing is Wing.FOREHAND else -ALONG[hand]
    return "wide" if stroke == stands else "T"


@pytest.mark.parametrize(("receiver", "wing"), product(("right", "left"), Wing))
def test_the_table_is_that_of_the_geometry(receiver: str, wing: Wing) -> None:
    targets = serve_targets(receiver, wing)
    assert [(t.court, t.spot, t.wing) for t in targets] == [
        (court, spot_by_geometry(receiver, court, wing), wing) for court in ("deuce", "ad")
    ]


@pytest.mark.parametrize(("receiver", "wing"), [("both", Wing.BACKHAND), (None, Wing.BACKHAND), ("right", None)])
def test_two_forehands_an_unknown_hand_or_an_unknown_wing_give_no_target(
    receiver: str | None, wing: Wing | None
) -> None:
    assert serve_targets(receiver, wing) == ()


@pytest.mark.parametrize(("server", "receiver"), product(("right", "left"), repeat=2))
def test_the_servers_own_hand_moves_no_target(advise: Callable[..., Advice], server: str, receiver: str) -> None:
    advice = advise(
        own={"handedness": server, "serve_placement": 3},
        opponent={"handedness": receiver},
        observations=HIDES,
        limit=10,
    )
    served = next(s for s in advice.suggestions if s.tactic == "serve-to-hidden-wing")
    assert {(t.court, t.spot) for t in served.targets} == {
        (court, spot_by_geometry(receiver, court, Wing.BACKHAND)) for court in ("deuce", "ad")
    }


def test_a_serve_to_the_forehand_aims_there_whatever_the_hand(advise: Callable[..., Advice]) -> None:
    seen = [{"what": "return.forehand_in", "count": 3, "of": 14}, {"what": "return.backhand_in", "count": 12, "of": 14}]
    for hand in ("right", "left"):
        advice = advise(own={"serve_placement": 3}, opponent={"handedness": hand}, observations=seen, limit=10)
        served = next(s for s in advice.suggestions if s.tactic == "serve-to-hidden-wing")
        assert all(t.wing is Wing.FOREHAND for t in served.targets)
        assert [t.spot for t in served.targets] == [spot_by_geometry(hand, c, Wing.FOREHAND) for c in ("deuce", "ad")]


def test_only_serves_have_targets(rulebook: Rulebook) -> None:
    aimed = [t for t in rulebook.tactics.values() if t.targets]
    assert len(aimed) >= 4
    assert all(t.effect.applies_to.value in ("serve", "both") for t in aimed)


# The score in one line ------------------------------------------------------------------------------------------------


NO_AD = Format(no_ad=True)


@pytest.mark.parametrize(
    ("state", "line"),
    [
        (State(Format(), ((6, 4), (6, 3)), (0, 0), (0, 0), None), "the match is over: you won"),
        (State(Format(), ((4, 6), (3, 6)), (0, 0), (0, 0), None), "the match is over: your opponent won"),
        (State(Format(), (), (0, 0), (0, 0), None), "an open point, worth 0.25 of the match"),
        (
            State(NO_AD, (), (2, 2), (3, 3), "own"),
            "break point against you, worth 0.25 of the match; you serve to either court (the receiver chooses)",
        ),
        (
            State(Format(), ((6, 4),), (5, 4), (3, 1), "opponent"),
            "match point for you, worth 0.25 of the match; your opponent serves to the deuce court",
        ),
        (
            State(Format(), (), (6, 6), (1, 1), "own"),
            "tie-break point, worth 0.25 of the match; you serve to the deuce court",
        ),
        (
            State(Format(sets=1, final_set="tie-break-7", no_ad=True), (), (2, 2), (3, 2), "own"),
            "game point for you, worth 0.25 of the match; you serve to the ad court",
        ),
        (
            State(Format(games=4), (), (4, 4), (4, 4), "own"),
            "set point for both, worth 0.25 of the match; you serve to either court (the receiver chooses)",
        ),
    ],
)
def test_the_line_says_for_whom_the_point_is_what_and_who_serves_where(state: Any, line: str) -> None:
    assert score_line(state, next_point(state), 0.25) == line
