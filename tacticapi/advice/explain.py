"""Explain why a tactic fired or which condition it failed most narrowly, and list its price term by term."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Annotated

from tacticapi.advice.selection import does_not_pay, unmet_gate, wrong_moment
from tacticapi.advice.words import condition_words, fact_words, observed_words, own_words, trait_of
from tacticapi.domain.advice import Advice, Suggestion
from tacticapi.domain.reasoning import Fact, Firings, Inference, RuleMatch
from tacticapi.domain.rules import Aim, Condition, FactKind, Rulebook, Sent, Tactic
from tacticapi.domain.situation import Situation
from tacticapi.pricing.price import Prices, Term
from tacticapi.rulebook.evaluator import nearest_miss

WINGS = {
    Aim.FOREHAND: " to the forehand",
    Aim.BACKHAND: " to the backhand",
    Aim.AIMED: " to the weaker wing",
    Aim.OTHER: " to the other wing",
}
SHARES = {
    "first_serves_in": "first serves in",
    "won_behind_first": "points won behind the first serve",
    "double_faults": "double faults on second serves",
    "won_in_play": "points won on second serves in play",
}


def price_lines(tactic: Tactic, rulebook: Rulebook) -> tuple[str, ...]:
    """Return a tactic's price as its rule gives it, one line per field; empty if it has no price."""
    price = tactic.price
    if price is None:
        return ()
    points = "all points" if price.points == "both" else f"{price.points} points"
    lines = [f"tried in {100 * price.share:g} of 100 points ({points})"]
    lines += [f"{sent.per_point:g} per tried point: {_sent(sent, rulebook)}" for sent in price.sends]
    lines += [f"{n:+g} of our own {own_words(name, rulebook)} per tried point" for name, n in price.own.items()]
    for quality, balls in price.gives.items():
        lines.append(f"worth {balls:+g} balls per tried point, depending on their {_quality(quality, rulebook)}")
    lines += [f"changes our own {SHARES[name]} by {100 * by:+g} in 100" for name, by in price.moves.items()]
    if price.spot:
        lines.append(f"{price.spot:g} points per tried point per unit of share by which their favourite spot leads")
    if price.costs:
        lines.append(f"costs {100 * price.costs:g} in 100 points")
    return tuple(lines)


def account(place: int, prices: Prices, rulebook: Rulebook) -> tuple[str, ...]:
    """Return what a price-book row is worth in this situation: one line per term, then the sum."""
    book = prices.book
    price, wing = book.of[place], book.rows[place][1]
    lines = [f"{100 * term.points:+.2f} {_term(term, rulebook)}" for term in prices.terms(place)]
    share, mean = 100 * price.share, 100 * float(prices.mean[place])
    costs = f", less a cost of {100 * price.costs:g}" if price.costs else ""
    head = "points in 100 tried points" + (f", at the {wing}:" if wing else ":")
    return head, *lines, f"tried in {share:g} of 100 points{costs}: {mean:+.2f} points in 100"


def _term(term: Term, rulebook: Rulebook) -> str:
    match term.field:
        case "sends":
            sent = Sent(term.name, term.times, term.instead_of or "", Aim(term.wing.value) if term.wing else Aim.EITHER)
            return f"for {term.times:g} x {_sent(sent, rulebook)}"
        case "own":
            return f"for {term.times:+g} of our own {own_words(term.name, rulebook)}"
        case "gives":
            return f"for {_quality(term.name, rulebook)}"
        case "moves":
            return f"for {100 * term.times:+g} in 100 of our own {SHARES[term.name]}"
        case _:
            return "for the spot they serve to more often than usual"


def _sent(sent: Sent, rulebook: Rulebook) -> str:
    ball, replaced = (rulebook.balls[name].title for name in (sent.ball, sent.instead_of))
    return f"{ball}{WINGS.get(sent.wing, '')} instead of {replaced}"


def _quality(name: str, rulebook: Rulebook) -> str:
    quality, _, wing = name.partition("/")
    return rulebook.qualities[quality].title.replace("{wing}", wing or "wing")


@dataclass(frozen=True, slots=True)
class WhyNot:
    """Why a tactic was suggested, held back or not shown (it fired, but there was no room), or did not match."""

    tactic: Annotated[str, "Id of the tactic."]
    verdict: Annotated[str, ("suggested", "held-back", "not-shown", "no-match"), "The outcome for this tactic."]
    why: Annotated[str, "The reason in words."]
    unmet: Annotated[tuple[str, ...], "What the alternative closest to matching still needs."]
    chain: Annotated[tuple[str, ...], "The steps from the rule that fired back to what was posted."]
    price: Annotated[
        tuple[str, ...], "The tactic's price in this situation, term by term; empty for a line that sends no ball."
    ] = ()


def why_or_why_not(
    tactic: Tactic, inference: Inference, firings: Firings, advice: Advice, *, situation: Situation, prices: Prices
) -> WhyNot:
    """Explain one tactic in one situation."""
    rulebook = prices.book.rulebook
    answer = _why(tactic, inference, advice, situation, rulebook)
    if not tactic.price:
        return answer
    place, fired = prices.best(tactic.id), firings.by_tactic.get(tactic.id)
    if fired:
        item = prices.of(fired)
        place = place if item.place is None else item.place
        if answer.verdict == "not-shown":
            why = does_not_pay(item, situation, prices.book.figures["speaks"])
            answer = replace(answer, why=why or answer.why)
    return replace(answer, price=account(place, prices, rulebook))


def _why(tactic: Tactic, inference: Inference, advice: Advice, situation: Situation, rulebook: Rulebook) -> WhyNot:
    shown = next((s for s in advice.suggestions if s.tactic == tactic.id), None)
    fired = [m for m in inference.matches if m.rule.startswith(f"tactic/{tactic.id}/")]
    if not fired:
        unmet = _nearest_unmet(tactic, list(inference.facts.values()), situation, rulebook)
        return WhyNot(tactic.id, "no-match", "; ".join(unmet), unmet, ())
    chain = _fact_chain(_of_the_line(fired, shown, inference).facts, inference, situation, rulebook)
    if shown is not None:
        return WhyNot(tactic.id, "suggested", "its conditions are met", (), chain)
    if any(s.tactic == tactic.id for s in advice.safety):
        return WhyNot(tactic.id, "suggested", "shown as safety advice", (), chain)
    if held := next((h for h in advice.held_back if h.tactic == tactic.id), None):
        return WhyNot(tactic.id, "held-back", f"{held.reason}: {held.why}", (held.why,), chain)
    moment = wrong_moment(tactic, rulebook.moments[situation.moment], rulebook.categories[tactic.category])
    return WhyNot(tactic.id, "not-shown", moment or "its conditions are met, but other tactics came first", (), chain)


def _of_the_line(fired: Sequence[RuleMatch], shown: Suggestion | None, inference: Inference) -> RuleMatch:
    """Return the firing behind the line that is shown, or else the firing with the firmest beliefs."""

    def beliefs(match: RuleMatch) -> list[Fact]:
        return [fact for place in match.facts if (fact := inference.facts[place]).kind is FactKind.BELIEF]

    rests = {(r.trait, r.wing) for r in shown.rests_on} if shown else set()
    told = [match for match in fired if {trait_of(fact) for fact in beliefs(match)} == rests] if shown else []
    return max(told or fired, key=lambda m: min((int(f.fields["permille"]) for f in beliefs(m)), default=1000))


def _nearest_unmet(tactic: Tactic, facts: Sequence[Fact], situation: Situation, rulebook: Rulebook) -> tuple[str, ...]:
    """Describe what is missing in the alternative with the fewest unmet conditions, including own abilities."""
    misses = (nearest_miss(alternative.conditions, facts) for alternative in tactic.when)
    nearest = min(misses, key=len, default=[])
    lines = [f"needs {condition_words(c, rulebook)}; {_instead(c, fact, rulebook)}" for c, fact in nearest]
    if gate := unmet_gate(tactic, situation.own, rulebook):
        lines.append(gate)
    return tuple(lines)


def _instead(condition: Condition, fact: Fact | None, rulebook: Rulebook) -> str:
    if fact is None:
        return {
            FactKind.CIRCUMSTANCE: "that does not apply now",
            FactKind.UNSEEN: "it has been seen",
            FactKind.TRIES: "it has not been tried",
            FactKind.OWN: "your rating is unknown",
            FactKind.SCORE: "the score does not fit",
        }.get(condition.kind, "it has not been seen")
    if fact.kind is FactKind.BELIEF:
        return f"it is at {int(fact.fields['permille']) / 1000:.2f}"
    if fact.kind is FactKind.OBSERVED:
        return f"seen {observed_words(fact)}"
    return f"but {fact_words(fact, rulebook)}"


def _fact_chain(
    places: Sequence[str], inference: Inference, situation: Situation, rulebook: Rulebook
) -> tuple[str, ...]:
    """Trace the matched facts back to the posted observations: one line per fact, and the proof of derived facts."""
    proofs = {m.rule.split("/")[1]: m for m in reversed(inference.matches) if m.rule.startswith("circumstance/")}
    lines: list[str] = []
    for place in places:
        fact = inference.facts[place]
        lines.append(_chain_line(fact, situation, rulebook))
        if fact.kind is FactKind.CIRCUMSTANCE and fact.name in proofs:
            proof = _fact_chain(proofs[fact.name].facts, inference, situation, rulebook)
            lines += [f"  because {line}" for line in proof]
    return tuple(lines)


def _chain_line(fact: Fact, situation: Situation, rulebook: Rulebook) -> str:
    if fact.kind is FactKind.BELIEF:
        wing = f" ({fact.fields['wing']})" if "wing" in fact.fields else ""
        title = rulebook.traits[fact.name].title.lower()
        line = f"believed: {title}{wing}, {int(fact.fields['permille']) / 1000:.2f}"
    elif fact.kind is FactKind.OBSERVED:
        line = f"seen: {rulebook.kinds[fact.name].says}, {observed_words(fact)}"
    else:
        line = fact_words(fact, rulebook)
    posted = ", ".join(f"/observations/{place}" for place in fact.observations if place < len(situation.observations))
    return f"{line} [{posted}]" if posted else line
