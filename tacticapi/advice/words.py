"""Put reasons, reads, sources, conditions and the score into words."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from tacticapi.domain.advice import Reason, RestsOn, SourceLine, UnusedObservation
from tacticapi.domain.reasoning import WINGS, Belief, Fact, Firing, Inference, Priced
from tacticapi.domain.rules import Condition, FactKind, Op, Rulebook, Tactic, Test, TraitKey
from tacticapi.domain.situation import Observation, Situation, Way
from tacticapi.evidence.entries import Pool, spread_text
from tacticapi.rulebook.conditions import PLAIN_COUNT, QUALIFIERS
from tacticapi.rulebook.danger import Health
from tacticapi.scoring.score import NextPoint, State

UNREAD = "the rules cannot interpret this text: read it yourself"
WHERE = (*QUALIFIERS, "option")
MIN_POINTS = 0.0005  # per tried point: a smaller gain is not given as a reason
COMPARED = {Op.AT_LEAST: "or more", Op.AT_MOST: "or less"}
STAKES = (
    ("match_point", "match point"),
    ("set_point", "set point"),
    ("break_point", "break point"),
    ("game_point", "game point"),
)


def _read_word(belief: Belief, reads: Sequence[Mapping[str, Any]]) -> str:
    """Return the word for the number of chances seen, ignoring evidence less than a tenth as strong as the strongest.

    The words are glimpse, hint, working read and firm read.
    """
    strongest = max((abs(c.log_odds) for c in belief.contributions), default=0.0)
    chances = sum(c.chances for c in belief.contributions if 10 * abs(c.log_odds) >= strongest)
    return next(str(r["word"]) for r in reads if r["below"] is None or chances < r["below"])


def trait_of(fact: Fact) -> TraitKey:
    """Return the trait and wing that a belief fact is about."""
    wing = fact.fields.get("wing")
    return fact.name, WINGS[wing] if wing else None


def rests_on(
    firing: Firing, beliefs: Mapping[TraitKey, Belief], reads: Sequence[Mapping[str, Any]]
) -> tuple[RestsOn, ...]:
    """Return the traits that the firing depends on."""
    found = (beliefs[trait_of(fact)] for fact in firing.beliefs)
    return tuple(RestsOn(b.trait, b.wing, b.probability, _read_word(b, reads)) for b in found)


def reasons(
    item: Priced,
    beliefs: Mapping[TraitKey, Belief],
    told: Iterable[tuple[Pool, float]],
    situation: Situation,
    rulebook: Rulebook,
) -> tuple[Reason, ...]:
    """Return the reasons for a tactic, in counts: first what adds most to its price (`told`), then the other facts."""
    firing = item.firing
    if item.place is None:
        moved = [c for fact in firing.beliefs for c in beliefs[trait_of(fact)].contributions if c.log_odds > 0]
        moved.sort(key=lambda c: (-round(c.log_odds, 9), c.text))
        found = [_seen_reason(c.text, c.what, c.observations, situation, None) for c in moved]
    else:
        speaking = [(pool, points) for pool, points in told if points >= MIN_POINTS]
        speaking.sort(key=lambda one: (-round(one[1], 9), one[0].text))  # rounding noise must not decide the order
        found = [_seen_reason(pool.text, pool.kind.id, pool.places, situation, points) for pool, points in speaking]
    found += [_fact_reason(fact, situation, rulebook) for fact in firing.facts if fact.kind is not FactKind.BELIEF]
    distinct: dict[str, Reason] = {}  # two rules or two wings may rest on the same observation
    for reason in found:
        distinct.setdefault(reason.text, reason)
    return tuple(distinct.values())[: int(rulebook.defaults["reasons"])]


def _seen_reason(text: str, what: str, places: Sequence[int], situation: Situation, points: float | None) -> Reason:
    seen = situation.observations[places[-1]] if places else None
    index, ref = (seen.index, seen.ref) if seen else (None, None)
    return Reason(text, what, index, ref, points, said(seen) if seen else {})


def said(seen: Observation) -> dict[str, Any]:
    """Return an observation's values as they were posted."""
    match seen.way:
        case Way.COUNT:
            return {"count": seen.count, "of": seen.of}
        case Way.COUNTS:
            return {"counts": dict(seen.counts or {})}
        case Way.TEXT:
            return {"value": seen.value}
        case way:
            return {way.value: getattr(seen, way.value)}


def _fact_reason(fact: Fact, situation: Situation, rulebook: Rulebook) -> Reason:
    if fact.kind is FactKind.OBSERVED and fact.observations:
        seen = situation.observations[fact.observations[-1]]
        posted = [situation.observations[place] for place in fact.observations]
        text = f"{rulebook.kinds[fact.name].says}: {_posted_words(fact, posted) or observed_words(fact)}"
        return Reason(text, fact.name, seen.index, seen.ref, said=said(seen))
    return Reason(fact_words(fact, rulebook), fact.name)


def _posted_words(fact: Fact, posted: Sequence[Observation]) -> str | None:
    """Return the counts behind a share as they were posted, not weighted by age: "2 of 6", "wide 6 of 7"."""
    option = str(fact.fields.get("option", ""))
    if not option:
        return None
    sums: dict[str, float] = {}
    for seen in posted:
        for name, count in (seen.counts or {}).items():
            sums[name] = sums.get(name, 0.0) + count
    counted = [o for o in posted if o.way is Way.COUNT]
    hits, chances = (sum(getattr(o, name) or 0.0 for o in counted) for name in ("count", "of"))
    if option != PLAIN_COUNT and option in sums and not counted:
        return f"{option} {sums[option]:g} of {sum(sums.values()):g}"
    if counted and not sums:
        return f"{hits:g} of {chances:g}"
    return spread_text(sums) if option == PLAIN_COUNT and not counted else None


def observed_words(fact: Fact) -> str:
    """Describe an observed fact: a share with its chances, a rating, an amount, or a word."""
    fields = fact.fields
    if "chances" in fields:
        percent = int(fields.get("permille", 0)) / 10
        share = f"{percent:.0f}% of {fields['chances']} chances" if "permille" in fields else "seen"
        return share if fields.get("option", PLAIN_COUNT) == PLAIN_COUNT else f"{fields['option']} {share}"
    for name in ("rating", "amount"):
        if name in fields:
            return f"{int(fields[name]) / 100:g}"
    return str(fields.get("value", "seen"))


def own_words(name: str, rulebook: Rulebook) -> str:
    """Return the vocabulary's name for one of our strokes or abilities: "kick serve" for second_serve_kick."""
    return rulebook.kinds[f"own.{name}"].says.removeprefix("own ")


def fact_words(fact: Fact, rulebook: Rulebook) -> str:
    """Describe a fact that is not an observation."""
    name = fact.name.replace("_", " ")
    value = fact.fields.get("value", fact.fields.get("number", ""))
    match fact.kind:
        case FactKind.CIRCUMSTANCE:
            return rulebook.circumstances[fact.name].means
        case FactKind.OWN:
            return f"your {own_words(fact.name, rulebook)}: {value}"
        case FactKind.OPPONENT:
            return f"your opponent's {name}: {value}"
        case FactKind.UNSEEN:
            return f"not seen yet: {rulebook.kinds[fact.name].says}"
        case FactKind.TRIES:
            return f"tried {fact.fields['tried']} times, won {fact.fields['won']}"
        case _:
            return f"{value} court" if name == "surface" else f"{name}: {value}"


def site_words(say: str, health: Health) -> str:
    """Fill in the advised player's sore site for {site}; return other lines unchanged."""
    if "{site}" not in say:
        return say
    sites = [site for site in (health.pain.sites if health.pain else ()) if site != "other"]
    said = say.replace("{site}", " and ".join(sites) or "place not given")
    return said[:1].upper() + said[1:]


def source_lines(tactic: Tactic, rulebook: Rulebook) -> tuple[SourceLine, ...]:
    """Return a tactic's sources. A citation backs the fact named beside it, never a threshold."""
    named = ((ref, rulebook.sources[ref.key]) for ref in tactic.sources)
    lines = tuple(SourceLine(source.status, ref.key, source.citation, ref.backs) for ref, source in named)
    return lines or (SourceLine(tactic.status),)


def unused(
    situation: Situation, refused: Mapping[int, str], beliefs: Iterable[Belief], inference: Inference
) -> tuple[UnusedObservation, ...]:
    """Return every accepted observation that affected no belief and no rule, with the reason."""
    used = set().union(*[c.observations for belief in beliefs for c in belief.contributions])
    for name in set().union(*[match.facts for match in inference.matches]):
        if (fact := inference.facts[name]).kind is not FactKind.BELIEF:
            used.update(fact.observations)
    lines = []
    for seen in situation.observations:
        if seen.index in refused:
            lines.append(UnusedObservation(seen.index, seen.what, refused[seen.index], seen.ref))
        elif seen.index not in used:
            note = "; a note is stored but not evaluated" if seen.way is Way.TEXT else ""
            lines.append(UnusedObservation(seen.index, seen.what, f"no effect at this moment{note}", seen.ref))
    return tuple(lines)


def unread_texts(situation: Situation, rulebook: Rulebook) -> tuple[UnusedObservation, ...]:
    """Return all free text in a situation: no rule understands it, so a person must read it."""
    profiles = (("context", situation.context), ("own", situation.own), ("opponent", situation.opponent))
    facts = [
        UnusedObservation(None, f"{subject}.{key}", UNREAD, text=item)
        for subject, profile in profiles
        for key, item in profile.items()
        if isinstance(item, str) and (kind := rulebook.kinds.get(f"{subject}.{key}")) is not None
        if Way.TEXT in kind.ways and item not in kind.options
    ]
    seen = [
        UnusedObservation(seen.index, seen.what, UNREAD, seen.ref, text)
        for seen in situation.observations
        for text in (seen.value if seen.way is Way.TEXT else None, seen.note)
        if text and text.upper().strip("WL")
    ]
    return (*facts, *{(each.observation, each.text): each for each in seen}.values())


def condition_words(condition: Condition, rulebook: Rulebook) -> str:
    """Describe a condition: "volley 2 or more" or "belief 'weak below the knee' at 0.55 or more"."""
    return WORDS[condition.kind](condition, rulebook)


def _belief(condition: Condition, rulebook: Rulebook) -> str:
    title = rulebook.traits[condition.name].title.lower()
    if any(test.field == "seen" for test in condition.tests):
        return f"an observation that raises the belief '{title}'"
    return f"the belief '{title}' at {_tests(condition, permille=True)}"


def _score(condition: Condition, rulebook: Rulebook) -> str:
    if condition.name != "importance":
        return f"{_plain(condition)} {_tests(condition)}"
    bounds = (f"{int(test.value) / 1000:.2f} {COMPARED[test.op]}" for test in condition.tests)
    return f"the point's importance in its game at {' and '.join(bounds)}"


WORDS: Mapping[FactKind, Callable[[Condition, Rulebook], str]] = {
    FactKind.BELIEF: _belief,
    FactKind.OBSERVED: lambda c, book: f"{book.kinds[c.name].says}: {_tests(c)}",
    FactKind.OWN: lambda c, book: f"your {own_words(c.name, book)} {_tests(c)}",
    FactKind.OPPONENT: lambda c, _: f"your opponent's {_plain(c)} {_tests(c)}",
    FactKind.CONTEXT: lambda c, _: f"{_plain(c)} {_tests(c)}",
    FactKind.SCORE: _score,
    FactKind.UNSEEN: lambda c, book: f"{book.kinds[c.name].says} not seen yet",
    FactKind.TRIES: lambda c, book: f"tries of '{book.tactics[c.name].title.lower()}': {_tests(c)}",
    FactKind.CIRCUMSTANCE: lambda c, book: f"that {book.circumstances[c.name].means}",
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
            number = f"{test.value / 1000:.2f}" if permille else f"{test.value / 10:g}%"
        case "rating" | "amount":
            number = f"{test.value / 100:g}"
        case "chances":
            number = f"{test.value} chances"
        case "tried":
            number = f"{test.value} tries"
        case _:
            number = str(test.value)
    return f"{number} {tail}".strip()


def score_line(state: State, point: NextPoint, worth: float) -> str:
    """Describe the score: "break point against you, worth 0.19 of the match; you serve to the ad court"."""
    if not point.courts:
        return "the match is over: you won" if state.winner == "own" else "the match is over: your opponent won"
    parts = [f"{_stake(point)}, worth {worth:.2f} of the match"]
    court = "either court (the receiver chooses)" if len(point.courts) > 1 else f"the {point.courts[0]} court"
    if state.server is not None:
        who = "you serve" if state.server == "own" else "your opponent serves"
        parts.append(f"{who} to {court}")
    return "; ".join(parts)


def _stake(point: NextPoint) -> str:
    for name, words in STAKES:
        sides = getattr(point, name) or ()
        if len(sides) > 1:
            return f"{words} for both"
        if sides:
            return f"{words} for you" if "own" in sides else f"{words} against you"
    return "tie-break point" if point.in_tie_break else "an ordinary point"
