"""Small rulebooks: one in files that each test may spoil in one place, and ones made of objects for the matcher."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from shutil import copytree

import pytest

from tacticapi.domain.reasoning import Fact
from tacticapi.domain.rules import (
    Alternative,
    Circumstance,
    Condition,
    Counter,
    FactKind,
    Level,
    ObservationKind,
    Op,
    Price,
    Quality,
    Region,
    Rulebook,
    Sent,
    Tactic,
    Test,
    Touches,
    Trait,
    WingRule,
)
from tacticapi.domain.situation import Phase, Way
from tacticapi.rulebook.files import Mistake, RuleFileError
from tacticapi.rulebook.load import load

from ...builders import plain_tactic

SMALL = Path(__file__).parent / "data" / "rules"


@pytest.fixture
def rules(tmp_path: Path) -> Path:
    return Path(copytree(SMALL, tmp_path / "rules"))


@pytest.fixture
def house(tmp_path: Path) -> Path:
    folder = tmp_path / "house"
    folder.mkdir()
    return folder


@pytest.fixture
def spoil(rules: Path) -> Callable[..., list[Mistake]]:
    """Replace a text that stands once in a file, load, and return the mistakes."""

    def spoiled(name: str, old: str, new: str) -> list[Mistake]:
        text = (rules / name).read_text()
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        (rules / name).write_text(text.replace(old, new))
        return mistakes_of(rules)

    return spoiled


def mistakes_of(*folders: Path) -> list[Mistake]:
    with pytest.raises(RuleFileError) as caught:
        load(folders)
    return caught.value.mistakes


def write(folder: Path, name: str, text: str) -> None:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


LIKELY = Condition(FactKind.BELIEF, "weak_low_ball", (Test("permille", Op.AT_LEAST, 700),))
LOW_BALLS = Condition(FactKind.OBSERVED, "rally.low_ball", (Test("permille", Op.AT_MOST, 400),), same_wing=True)
RIGHT = Condition(FactKind.OWN, "handedness", (Test("value", Op.IS, "right"),))
BREAK_POINT, LOW_BOUNCE = (Condition(FactKind.CIRCUMSTANCE, name) for name in ("break-point-for", "low-bounce"))


def believed(id: str, permille: int = 800, **more: str) -> Fact:
    """A fact that both wings, or the one named, are weak against low balls."""
    return Fact(id, FactKind.BELIEF, "weak_low_ball", {"permille": permille, **more})


Conditions = tuple[Condition, ...]
WING = {"wing": "optional"}
QUALITIES = ("low", "runs_round", "stamina")
MakeTactic = Callable[..., Tactic]
MakeRulebook = Callable[..., Rulebook]


@pytest.fixture
def make_tactic() -> MakeTactic:
    def make(id: str, *when: Conditions, unless: Sequence[Conditions] = ()) -> Tactic:
        return plain_tactic(
            id,
            when=tuple(Alternative(conditions) for conditions in when),
            unless=tuple(Counter(conditions, "not now") for conditions in unless),
            price=Price(Touches.BOTH, 0.3, (Sent("low", 1.0, "deep"),)),
        )

    return make


@cache
def ours() -> Rulebook:
    return load()


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
            ObservationKind("rally.low_ball", "l", "?", "l", (Way.COUNT,), (Phase.GAMES,), qualifiers=WING),
            ObservationKind("serve.spots", "s", "?", "s", (Way.COUNTS,), (Phase.GAMES,), ("wide", "body", "T")),
        )
        traits = (
            Trait("weak_low_ball", "w", "w", WingRule.EACH, (Region({"low": 1.0}, 0.0, 0.4),)),
            Trait("hides_backhand", "h", "h", WingRule.BACKHAND, (Region({"runs_round": 1.0}, 0.7, 1.0),)),
            Trait("tires", "t", "t", WingRule.NONE, (Region({"stamina": 1.0}, 0.0, 0.3),)),
        )
        derived = {id: Circumstance(id, id, tuple(when)) for id, when in (circumstances or {}).items()}
        return replace(
            ours(),
            kinds={kind.id: kind for kind in kinds},
            qualities={id: Quality(id, id, id == "low", dict.fromkeys(Level, 0.5), 0.3) for id in QUALITIES},
            traits={trait.id: trait for trait in traits},
            circumstances={"break-point-for": Circumstance("break-point-for", "computed"), **derived},
            tactics={tactic.id: tactic for tactic in tactics},
        )

    return make
