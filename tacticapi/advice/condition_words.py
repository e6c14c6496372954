"""A condition in words, for "why not"."""

from collections.abc import Callable, Mapping

from tacticapi.advice.wording import own_words
from tacticapi.domain.rulebook import Rulebook
from tacticapi.domain.tactic import Condition, FactKind, Op, Test
from tacticapi.knowledge import PLAIN_COUNT, QUALIFIERS

WHERE = (*QUALIFIERS, "option")
COMPARED = {Op.AT_LEAST: "or more", Op.AT_MOST: "or less"}


def condition_words(condition: Condition, rulebook: Rulebook) -> str:
    """Return for example "volley 2 or more" or "belief 'weak below the knee' at 0.55 or more"."""
    return WORDS[condition.kind](condition, rulebook)


def _belief(condition: Condition, rulebook: Rulebook) -> str:
    return f"the belief '{rulebook.traits[condition.name].title.lower()}' at {_tests(condition, permille=True)}"


def _observed(condition: Condition, rulebook: Rulebook) -> str:
    return f"{rulebook.kinds[condition.name].says}: {_tests(condition)}"


def _own(condition: Condition, rulebook: Rulebook) -> str:
    return f"your {own_words(condition.name, rulebook)} {_tests(condition)}"


def _opponent(condition: Condition, rulebook: Rulebook) -> str:
    return f"your opponent's {_plain(condition)} {_tests(condition)}"


def _context(condition: Condition, rulebook: Rulebook) -> str:
    return f"{_plain(condition)} {_tests(condition)}"


def _score(condition: Condition, rulebook: Rulebook) -> str:
    if condition.name != "importance":
        return _context(condition, rulebook)
    bounds = (f"{int(test.value) / 1000:.2f} {COMPARED[test.op]}" for test in condition.tests)
    return f"the point's importance in its game at {' and '.join(bounds)}"


def _unseen(condition: Condition, rulebook: Rulebook) -> str:
    return f"{rulebook.kinds[condition.name].says} not seen yet"


def _tries(condition: Condition, rulebook: Rulebook) -> str:
    return f"tries of '{rulebook.tactics[condition.name].title.lower()}': {_tests(condition)}"


def _circumstance(condition: Condition, rulebook: Rulebook) -> str:
    return f"that {rulebook.circumstances[condition.name].means}"


WORDS: Mapping[FactKind, Callable[[Condition, Rulebook], str]] = {
    FactKind.BELIEF: _belief,
    FactKind.OBSERVED: _observed,
    FactKind.OWN: _own,
    FactKind.OPPONENT: _opponent,
    FactKind.CONTEXT: _context,
    FactKind.SCORE: _score,
    FactKind.UNSEEN: _unseen,
    FactKind.TRIES: _tries,
    FactKind.CIRCUMSTANCE: _circumstance,
}


def _plain(condition: Condition) -> str:
    return condition.name.replace("_", " ")


def _tests(condition: Condition, permille: bool = False) -> str:
    told = [test for test in condition.tests if test.field != "part" and test.value != PLAIN_COUNT]
    where = [str(test.value) for test in told if test.field in WHERE]
    what = [_test(test, permille) for test in told if test.field not in WHERE]
    words = " with ".join(what) or "seen"
    return f"{words} ({', '.join(where)})" if where else words


def _test(test: Test, permille: bool) -> str:
    if isinstance(test.value, str):
        return "seen" if test.field == "seen" else test.value
    tail = COMPARED.get(test.op, "")
    match test.field:
        case "permille":
            number = f"{test.value / 1000:.2f}" if permille else f"{test.value / 10:g} %"
        case "rating" | "amount":
            number = f"{test.value / 100:g}"
        case "chances":
            number = f"{test.value} chances"
        case "tried":
            number = f"{test.value} tries"
        case _:
            number = str(test.value)
    return f"{number} {tail}".strip()
