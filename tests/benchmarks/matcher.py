"""Times the rule engine against the evaluator on one synthetic rulebook: `python tests/benchmarks/matcher.py`.

Prints the median time of a request for each, their ratio, the matches of a request, the time to compile, and what
the process grows by over many requests.
"""

import argparse
import gc
import random
import resource
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from statistics import median

from tacticapi.domain.reasoning import Fact, MatchRule
from tacticapi.domain.rules import Condition, FactKind, Op, Test
from tacticapi.domain.situation import Wing
from tacticapi.rulebook.engine import Engine
from tacticapi.rulebook.evaluator import evaluate

PAGE = resource.getpagesize()


def synthetic_condition(draw: random.Random, names: int) -> Condition:
    kind = draw.choice([FactKind.BELIEF] * 4 + [FactKind.OBSERVED] * 2 + [FactKind.OWN, FactKind.CIRCUMSTANCE])
    name = f"{kind.value}_{draw.randrange(names)}"
    match kind:
        case FactKind.BELIEF:
            return Condition(kind, name, (Test("permille", Op.AT_LEAST, draw.choice([550, 700])),))
        case FactKind.OBSERVED:
            floor = Test("chances", Op.AT_LEAST, draw.choice([4, 6, 8]))
            return Condition(kind, name, (Test("permille", Op.AT_LEAST, draw.choice([400, 500, 600])), floor))
        case FactKind.OWN:
            return Condition(kind, name, (Test("number", Op.AT_LEAST, draw.randrange(1, 4)),))
        case _:
            return Condition(kind, name)


def synthetic_rules(draw: random.Random, size: int) -> tuple[MatchRule, ...]:
    """Rules of one to four conditions; every twentieth derives a circumstance that others may use."""
    names = max(20, size // 8)
    rules = []
    for number in range(size):
        conditions = tuple(dict.fromkeys(synthetic_condition(draw, names) for _ in range(draw.randrange(1, 5))))
        derives = None
        if number % 20 == 0:
            derives = f"derived_{number}"
            conditions = tuple(c for c in conditions if c.kind is not FactKind.CIRCUMSTANCE) or (
                Condition(FactKind.OWN, "own_1", (Test("number", Op.AT_LEAST, 2),)),
            )
        elif number % 20 == 1:
            conditions = (*conditions[:3], Condition(FactKind.CIRCUMSTANCE, f"derived_{number - 1}"))
        rules.append(MatchRule(f"tactic/synthetic-{number}/0", conditions, derives))
    return tuple(rules)


def synthetic_facts(draw: random.Random, size: int, names: int) -> list[Fact]:
    facts = []
    for number in range(size):
        kind = draw.choice([FactKind.BELIEF] * 4 + [FactKind.OBSERVED] * 3 + [FactKind.OWN, FactKind.CIRCUMSTANCE])
        fields: dict[str, int | str] = {}
        if kind is FactKind.BELIEF:
            fields = {"permille": draw.randrange(100, 900), "wing": draw.choice(list(Wing)).value}
        elif kind is FactKind.OBSERVED:
            fields = {"permille": draw.randrange(0, 1001), "chances": draw.randrange(1, 14)}
        elif kind is FactKind.OWN:
            fields = {"number": draw.randrange(0, 5)}
        facts.append(Fact(f"fact:{number}", kind, f"{kind.value}_{draw.randrange(names)}", fields))
    return facts


def milliseconds(task: Callable[[Sequence[Fact]], object], requests: Sequence[Sequence[Fact]]) -> float:
    """The median time of a request."""
    times = []
    for facts in requests:
        start = time.perf_counter()
        task(facts)
        times.append(time.perf_counter() - start)
    return 1000 * median(times)


def resident_megabytes() -> float:
    return int(Path("/proc/self/statm").read_text().split()[1]) * PAGE / 2**20


def compare(rule_count: int, fact_count: int, request_count: int) -> None:
    draw = random.Random(rule_count)
    rules = synthetic_rules(draw, rule_count)
    names = max(20, rule_count // 8)
    requests = [synthetic_facts(draw, fact_count, names) for _ in range(request_count)]
    start = time.perf_counter()
    engine = Engine(rules, f"benchmark-{rule_count}")
    compiled = time.perf_counter() - start
    matches = [len(engine.run(facts)) for facts in requests]
    assert all(tuple(sorted(engine.run(facts))) == evaluate(rules, facts) for facts in requests[:20])
    by_engine = milliseconds(engine.run, requests)
    by_evaluator = milliseconds(lambda facts: evaluate(rules, facts), requests)
    print(
        f"{rule_count} rules x {fact_count} facts: engine {by_engine:.2f} ms, evaluator {by_evaluator:.2f} ms, "
        f"ratio {by_engine / by_evaluator:.1f}, matches {median(matches):.0f}, compiled in {1000 * compiled:.0f} ms"
    )


def grow(request_count: int) -> None:
    draw = random.Random(1)
    engine = Engine(synthetic_rules(draw, 200), "benchmark-growth")
    requests = [synthetic_facts(draw, 50, 25) for _ in range(100)]
    for facts in requests * 2:
        engine.run(facts)
    gc.collect()
    before = resident_megabytes()
    for number in range(request_count):
        engine.run(requests[number % len(requests)])
    gc.collect()
    print(f"{request_count} requests: {resident_megabytes() - before:+.2f} MB resident ({before:.0f} MB before)")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--requests", type=int, default=100, help="requests timed for each size")
    parser.add_argument("--growth", type=int, default=5000, help="requests for the growth of memory")
    options = parser.parse_args()
    compare(200, 50, options.requests)
    compare(600, 120, options.requests)
    grow(options.growth)
