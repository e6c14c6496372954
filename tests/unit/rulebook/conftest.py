"""Small rulebooks: one in files that each test may spoil in one place, and ones made of objects for the matcher."""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import pytest

from tacticapi.domain.rules import (
    Alternative,
    Circumstance,
    Condition,
    Counter,
    Level,
    ObservationKind,
    Price,
    Quality,
    Region,
    Rulebook,
    Sent,
    Tactic,
    Touches,
    Trait,
    WingRule,
)
from tacticapi.domain.situation import Phase, Show, Way
from tacticapi.rulebook.files import Mistake, RuleFileError
from tacticapi.rulebook.load import load

FILES = {
    "defaults.yaml": """\
version: "2026.1"
levels: {leaning: 0.55, likely: 0.70}
""",
    "categories.yaml": """\
categories:
  - {id: serve, title: Serve, tactical: true, authority: 4}
  - {id: physical, title: Body and care, tactical: false, authority: 3}
  - {id: law-and-conduct, title: Law and conduct, tactical: false, authority: 2}
""",
    "moments.yaml": "moments:\n"
    + "".join(
        f"  - {{moment: {moment}, limit: 2, reminders: [serve]}}\n"
        for moment in ("before-match", "after-warm-up", "between-points", "change-of-ends", "set-break", "after-match")
    ),
    "sources.yaml": """\
sources:
  - {key: MIX, citation: A paper on mixing, backs: serve directions are mixed, status: abstract seen}
""",
    "qualities.yaml": """\
levels: {tour: 0.6, advanced: 0.8, club: 1.0, junior: 1.1}
rating: {spread: 1.3, noise: 1.1}
word: {weight: 1.5, slope: 1.2}
tau: {warm_up: 0.9, nervous_warm_up: 1.2, before_change: 0.6, miscount: 0.2}
spots:
  totals: {first: 10, second: 5}
  first_serves: 0.6
  practice_serve: 0.4
  earlier_serve: 0.3
  usual:
    first: {deuce: [0.4, 0.2, 0.4], ad: [0.4, 0.2, 0.4]}
    second: {deuce: [0.3, 0.4, 0.3], ad: [0.3, 0.4, 0.3]}
qualities:
  - {id: high, title: "high balls to the {wing}", wing: each, spread: 0.6, carry_over: 0.3}
  - {id: kick, title: height of the second serve, wing: none, spread: 0.7, carry_over: 0.3}
  - {id: delays, title: taking time, wing: none, spread: 0.8, habit: true, carry_over: 0.3}
""",
    "balls.yaml": """\
value: 0.08
as_meant: 0.85
own_spread: 0.4
model_error: 0.012
carried_out: 0.10
speaks: {early: 0.7, first_games: 2, later: 0.6, read: 0.57, gain: 0.0004, expected: 0.01}
size: {large: 0.010, some: 0.003}
together: {tour: 0.015, advanced: 0.022, club: 0.03, junior: 0.03}
alike: 0.5
balls:
  - {id: kick, title: a kick serve, finds: {high: 1}}
  - {id: flat, title: a flat serve, finds: {kick: 0.2}}
  - {id: serve-mix, title: the usual serves, of: {kick: 0.3, flat: 0.7}}
""",
    "observations/serve.yaml": """\
subject: serve
kinds:
  - id: serve.ad_court_spots
    title: Spots in the ad court
    asks: Where did the serves to the ad court go?
    says: spots in the ad court
    ways: [counts]
    phases: [games]
    options: [wide, body, T]
  - id: serve.second_serve_bounce
    title: Bounce of the second serve
    asks: How high does the second serve bounce?
    says: bounce of the second serve
    ways: [value]
    phases: [games]
    options: [hip, chest, shoulder]
    measures:
      - {loads: {kick: 1}, words: {hip: -1, shoulder: 1.2}}
  - id: serve.first_serves_in
    title: First serves in
    asks: How many first serves were in?
    says: first serves in
    ways: [count]
    phases: [games]
    needs_end: true
""",
    "observations/rally.yaml": """\
subject: rally
kinds:
  - id: rally.against_high_ball
    title: High balls handled
    asks: How many high balls were handled?
    says: high balls handled
    ways: [count, rating]
    phases: [warm-up, games]
    qualifiers: {wing: required}
    measures:
      - {usual: 0.60, loads: {high: 1}}
  - id: rally.pause
    title: Pause
    asks: How long was the pause?
    says: pause
    ways: [amount, seen]
    phases: [games]
    unit: s
    low: 0
    high: 600
    measures:
      - {loads: {delays: 1}, amount: {usual: 20, step: 5}}
      - {loads: {delays: 1}, seen: {yes: 0.5, no: -0.2}}
""",
    "observations/opponent.yaml": """\
subject: opponent
kinds:
  - id: opponent.handedness
    title: Playing hand
    asks: Which hand does your opponent play with?
    says: playing hand
    ways: [value]
    phases: [before, warm-up]
    options: [right, left, both]
""",
    "observations/own.yaml": """\
subject: own
kinds:
  - id: own.kick_serve
    title: Kick serve
    asks: How good is your kick serve?
    says: kick serve
    ways: [rating]
    phases: [before]
  - id: own.injured
    title: Injured
    asks: Are you injured?
    says: injured
    ways: [seen]
    phases: [before]
    health: true
""",
    "traits/wings.yaml": """\
traits:
  - id: weak_high_ball
    title: Weak above the shoulder
    means: trouble with high balls on this wing
    wing: each
    region: {of: {high: 1}, lowest: 0.4}
  - id: predictable_serve
    title: Predictable serve
    means: one spot is a favourite
    wing: none
    favourite: 0.5
  - id: kicks_slowly
    title: Kicks and takes time
    means: a slow player with a high second serve
    wing: none
    region:
      - {of: {kick: 1}, highest: 0.3}
      - {of: {delays: 1}, between: [0.4, 0.9]}
""",
    "circumstances/computed.yaml": """\
circumstances:
  - {id: ahead, means: you lead in the match}
  - id: left-hander
    means: your opponent plays with the left hand, or with both
    when:
      - all: [{opponent: handedness, is: [left, both]}]
""",
    "tactics/serve.yaml": """\
category: serve
tactics:
  - id: kick-it-high
    title: Kick the second serve high
    say: Kick the second serve up to the weaker wing.
    why: A ball above the shoulder is hard to hit hard.
    when:
      - all:
          - {belief: weak_high_ball, level: leaning, wing: backhand}
          - {circumstance: left-hander}
      - all:
          - {belief: weak_high_ball, at_least: 0.6}
          - {observed: rally.against_high_ball, wing: same, share_at_most: 0.5, chances_at_least: 6}
        say: Kick more second serves.
    needs:
      - {own: kick_serve, at_least: 2}
    unless:
      - all: [{observed: serve.second_serve_bounce, value: [hip, chest]}, {own: injured, is: true}]
        why: the ball stays low
    not_if: the ball stays low
    stop_when: look again after six tries
    risk: low
    price: {points: serve, share: 0.18, own: {kick_serve: 0.5}, costs: 0.001,
      sends: [{ball: kick, wing: aimed, per_point: 1, instead_of: serve-mix}]}
    relations:
      - {conflicts: serve-to-the-body, settled: the belief that is surer}
    source: [{key: MIX, backs: a mixed serve is harder to read}]
  - id: serve-to-the-body
    title: Serve to the body
    say: Serve to the body.
    why: It cramps the swing.
    when:
      - all: [{score: serving, is: own}, {tries: kick-it-high, tried_at_least: 6, share_at_most: 0.4}]
    not_if: the ball comes back deep
    stop_when: look again after six tries
    risk: medium
    order: 3
    source: common practice
    authority: 8
""",
}


@pytest.fixture
def rules(tmp_path: Path) -> Path:
    folder = tmp_path / "rules"
    for name, text in FILES.items():
        write(folder, name, text)
    return folder


@pytest.fixture
def house(tmp_path: Path) -> Path:
    folder = tmp_path / "house"
    folder.mkdir()
    return folder


@pytest.fixture
def spoil(rules: Path) -> Callable[..., list[Mistake]]:
    """Replace a text that stands once in a file, load, and return the mistakes."""

    def spoiled(name: str, old: str, new: str, *, strict: bool = True) -> list[Mistake]:
        text = (rules / name).read_text()
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        (rules / name).write_text(text.replace(old, new))
        return mistakes_of(rules, strict=strict)

    return spoiled


def mistakes_of(*folders: Path, strict: bool = True) -> list[Mistake]:
    with pytest.raises(RuleFileError) as caught:
        load(folders, strict=strict)
    return caught.value.mistakes


def write(folder: Path, name: str, text: str) -> None:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


Conditions = tuple[Condition, ...]
QUALITIES = ("low", "runs_round", "stamina")
MakeTactic = Callable[..., Tactic]
MakeRulebook = Callable[..., Rulebook]


@pytest.fixture
def make_tactic() -> MakeTactic:
    def make(id: str, *when: Conditions, unless: Sequence[Conditions] = ()) -> Tactic:
        return Tactic(
            id=id,
            category="rally",
            title=id,
            say=id,
            why="it pays",
            when=tuple(Alternative(conditions) for conditions in when),
            needs=(),
            unless=tuple(Counter(conditions, "not now") for conditions in unless),
            not_if="never",
            stop_when="look again after six",
            show=Show.GAIN,
            risk="low",
            authority=4,
            price=Price(Touches.BOTH, 0.3, (Sent("low", 1.0, "deep"),)),
        )

    return make


@pytest.fixture
def make_rulebook() -> MakeRulebook:
    """A rulebook of these tactics and derived circumstances, with a small vocabulary."""

    def make(
        tactics: Sequence[Tactic] = (), circumstances: Mapping[str, Sequence[Conditions]] | None = None
    ) -> Rulebook:
        kinds = (
            ObservationKind("own.handedness", "h", "?", "h", (Way.VALUE,), (Phase.BEFORE,), ("right", "left")),
            ObservationKind("own.kick", "k", "?", "k", (Way.RATING,), (Phase.BEFORE,)),
            ObservationKind("context.heat", "c", "?", "c", (Way.AMOUNT,), (Phase.BEFORE,), low=-20, high=60, unit="°C"),
            ObservationKind("context.indoor", "i", "?", "i", (Way.SEEN,), (Phase.BEFORE,)),
            ObservationKind(
                "rally.low_ball", "l", "?", "l", (Way.COUNT,), (Phase.GAMES,), qualifiers={"wing": "optional"}
            ),
            ObservationKind("serve.spots", "s", "?", "s", (Way.COUNTS,), (Phase.GAMES,), ("wide", "body", "T")),
        )
        traits = (
            Trait("weak_low_ball", "w", "w", WingRule.EACH, (Region({"low": 1.0}, 0.0, 0.4),)),
            Trait("hides_backhand", "h", "h", WingRule.BACKHAND, (Region({"runs_round": 1.0}, 0.7, 1.0),)),
            Trait("tires", "t", "t", WingRule.NONE, (Region({"stamina": 1.0}, 0.0, 0.3),)),
        )
        return Rulebook(
            version="1",
            digest="0",
            defaults={},
            sources={},
            kinds={kind.id: kind for kind in kinds},
            qualities={id: Quality(id, id, id == "low", dict.fromkeys(Level, 0.5), 0.3) for id in QUALITIES},
            traits={trait.id: trait for trait in traits},
            categories={},
            moments={},
            circumstances={
                "break-point-for": Circumstance("break-point-for", "computed"),
                **{id: Circumstance(id, id, tuple(when)) for id, when in (circumstances or {}).items()},
            },
            tactics={tactic.id: tactic for tactic in tactics},
        )

    return make
