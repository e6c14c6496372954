"""What a suggestion says, which spot its serve goes to, and the score in one line."""

from dataclasses import dataclass, replace
from itertools import product
from math import tanh
from types import SimpleNamespace

import pytest

from tacticapi.advice.suggestions import Slots, SuggestionWriter, serve_targets
from tacticapi.advice.words import score_line
from tacticapi.domain.advice import Target
from tacticapi.domain.reasoning import Belief, Contribution, Fact, Firing
from tacticapi.domain.rules import Alternative, FactKind, Level
from tacticapi.domain.situation import Moment, Observation, Phase, Show, Situation, Way, Wing
from tacticapi.evidence.entries import Pool
from tacticapi.pricing.match_gain import MatchGain
from tacticapi.rulebook.danger import Health, Pain
from tacticapi.scoring.formats import Format
from tacticapi.scoring.score import State, next_point

from ...builders import tally

WELL = Health()
HANDS = Situation(Moment.CHANGE_OF_ENDS, own={"handedness": "left"}, opponent={"handedness": "right"})
PARTS = tuple(Contribution(1.0 / n, "rally.against_low_ball", Phase.GAMES, 2, (), f"part {n}") for n in range(1, 10))
LOW = Belief("weak_low_ball", Wing.BACKHAND, 0.38, 0.7, PARTS)
LOW_FACT = Fact("b", FactKind.BELIEF, "weak_low_ball", {"permille": 700, "wing": "backhand"})


@dataclass(frozen=True)
class Pricer:
    """Match gains as told beforehand, in the order of what is shown."""

    told: tuple[MatchGain, ...]

    def gains(self, shown):
        return list(self.told[: len(shown)])


@pytest.fixture
def lines(rulebook):
    """The suggestions for priced tactics, in a rulebook that has them too. `told` is what was seen of any."""

    def write(*shown, gains, weights=None, of=HANDS, health=WELL, level=Level.CLUB, told=()):
        ours = {item.firing.tactic.id: item.firing.tactic for item in shown}
        book = replace(rulebook, tactics={**rulebook.tactics, **ours})
        beliefs = {("weak_low_ball", Wing.BACKHAND): LOW}
        prices = SimpleNamespace(
            book=SimpleNamespace(figures=rulebook.defaults["prices"], rows=[("a", None)] * 20),
            told=lambda places: {place: list(told) for place in places},
        )
        pricer = Pricer(gains)
        writer = SuggestionWriter(book, of, beliefs, pricer, prices, health, judged={}, slots=Slots(of, (), (), ""))
        return writer.write(shown, weights or {}, level)

    return write


def one(lines, item, **more):
    (line,) = lines(item, gains=(MatchGain(0.02, 0.01, 0.03),), **more)
    return line


def firing(item, *facts, alternative=0, of=None, **fields):
    return replace(item, firing=Firing(of or replace(item.firing.tactic, **fields), alternative, facts))


def test_what_shares_a_read_claims_half_and_all_lines_together_at_most_the_cap_of_the_level(priced, lines, rulebook):
    """Points of 0.03, 0.03 x 0.5 and 0.015 sum to 0.06: cap x tanh(0.06 / cap) are claimed, shared in proportion."""
    shown = priced("a", 0.03), priced("b", 0.03), priced("c", 0.015)
    gains = tuple(MatchGain(n, n / 2, 2 * n) for n in (0.08, 0.08, 0.04))
    for level in (Level.TOUR, Level.CLUB):
        told = lines(*shown, gains=gains, weights={"b": 0.5}, level=level)
        cap = rulebook.defaults["prices"]["together"][level]
        scale = cap * tanh(0.06 / cap) / 0.06
        assert [(line.rank, line.tactic) for line in told] == [(1, "a"), (2, "b"), (3, "c")]
        worth = [line.worth for line in told if line.worth]
        assert sum(one.point for one in worth) < cap
        assert [one.point for one in worth] == pytest.approx([0.03 * scale, 0.015 * scale, 0.015 * scale])
        assert [one.match for one in worth] == pytest.approx([0.08 * scale, 0.04 * scale, 0.04 * scale])
        assert [one.match_high for one in worth] == pytest.approx([0.16 * scale, 0.08 * scale, 0.08 * scale])


@pytest.mark.parametrize(
    ("point", "pays_in", "size"),
    [
        (0.012, 0.9, "large"),
        (0.004, 0.8, "some"),
        (0.0005, 0.7, "small"),
        (0.012, 0.5, "unclear"),
        (-0.001, 0.9, "unclear"),
    ],
)
def test_a_gain_is_told_as_it_is_with_a_word_for_its_size_and_no_price_claims_none(priced, lines, point, pays_in, size):
    shown = priced("a", point, pays_in=pays_in), priced("b", show=Show.REMINDER)
    told, none = (line.worth for line in lines(*shown, gains=(MatchGain(0.02, 0.01, 0.03),) * 2))
    assert (told.size, told.pays_in, none) == (size, pays_in, None)
    if size == "small":
        claimed = (told.point, told.match, told.match_low, told.match_high)
        assert claimed == pytest.approx((point, 0.02, 0.01, 0.03), rel=1e-3)


@pytest.mark.parametrize(
    ("sites", "said"),
    [
        (("knee",), "Knee: no sprints"),
        (("calf", "knee"), "Calf and knee: no sprints"),
        (("knee", "other"), "Knee: no sprints"),
        ((), "Place not given: no sprints"),
    ],
)
def test_a_line_names_the_sore_place(priced, lines, sites, said):
    when = (Alternative((), say="{site}: no sprints"),)
    sore = Health(pain=Pain(1, sites, stops=False))
    assert one(lines, firing(priced("a"), when=when), health=sore).say == said


def test_a_priced_line_tells_first_what_adds_most_to_its_price_and_nothing_that_takes_from_it(priced, lines, rulebook):
    def pool(count):
        kind = rulebook.kinds["rally.backhand_errors"]
        return Pool(kind, Phase.GAMES, [Observation(0, kind.id, Way.COUNT, count=count, of=20)])

    told = [(pool(8), 0.004), (pool(2), -0.02), (pool(12), 0.02), (pool(5), 0.0)]
    asked = replace(HANDS, observations=tuple(entry for one, _ in told for entry in one.entries))
    line = one(lines, firing(priced("a"), LOW_FACT), of=asked, told=told)
    assert [reason.points for reason in line.because] == [0.02, 0.004]
    assert "12 of 20" in line.because[0].text


HIDES = [tally("rally.ran_round_backhand", 10, 12), tally("return.backhand_in", 3, 12)]
WEAK_FOREHAND = [tally("return.forehand_in", 3, 14), tally("return.backhand_in", 12, 14)]
ALONG = {"left": -1, "right": 1}  # across the court, as the receiver sees it


def spot_by_geometry(hand, court, wing):
    """The receiver stands on the right in the deuce court, on the left in the ad court, and faces the server.

    T lies towards the middle of the court, wide away from it; the forehand is on the side of the hand.
    """
    stands = ALONG["right" if court == "deuce" else "left"]
    stroke = ALONG[hand] if wing is Wing.FOREHAND else -ALONG[hand]
    return "wide" if stroke == stands else "T"


@pytest.mark.parametrize(("server", "receiver", "wing"), product(("right", "left"), ("right", "left"), Wing))
def test_a_serve_aims_at_the_wing_by_geometry_whatever_the_servers_hand(advise, server, receiver, wing):
    targets = tuple(Target(court, spot_by_geometry(receiver, court, wing), wing) for court in ("deuce", "ad"))
    assert serve_targets(receiver, wing) == targets
    own, seen = {"handedness": server, "serve_placement": 3}, HIDES if wing is Wing.BACKHAND else WEAK_FOREHAND
    advice = advise(own=own, opponent={"handedness": receiver}, observations=seen, limit=10)
    assert next(s for s in advice.suggestions if s.tactic == "serve-to-hidden-wing").targets == targets


NO_AD, SHORT = Format(no_ad=True), Format(games=4)


@pytest.mark.parametrize(
    ("state", "line"),
    [
        (State(Format(), ((6, 4), (6, 3))), "the match is over: you won"),
        (State(Format(), ((4, 6), (3, 6))), "the match is over: your opponent won"),
        (State(Format()), "an ordinary point{worth}"),
        (State(NO_AD, (), (2, 2), (3, 3), "own"), "break point against you{worth}; you serve to either court{chooses}"),
        (
            State(Format(), ((6, 4),), (5, 4), (3, 1), "opponent"),
            "match point for you{worth}; your opponent serves to the deuce court",
        ),
        (State(Format(), (), (6, 6), (1, 1), "own"), "tie-break point{worth}; you serve to the deuce court"),
        (
            State(Format(sets=1, final_set="tie-break-7", no_ad=True), (), (2, 2), (3, 2), "own"),
            "game point for you{worth}; you serve to the ad court",
        ),
        (State(SHORT, (), (4, 4), (4, 4), "own"), "set point for both{worth}; you serve to either court{chooses}"),
    ],
)
def test_the_line_says_for_whom_the_point_is_what_and_who_serves_where(state, line):
    said = line.format(worth=", worth 0.25 of the match", chooses=" (the receiver chooses)")
    assert score_line(state, next_point(state), 0.25) == said
