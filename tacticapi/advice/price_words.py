"""List the price of a tactic term by term."""

from tacticapi.advice.words import own_words
from tacticapi.domain.rules import Aim, Rulebook, Sent, Tactic
from tacticapi.pricing.price import Prices, Term

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
    """Return the price of a tactic as its rule states it, one line per field; empty if it has no price."""
    price = tactic.price
    if price is None:
        return ()
    points = "all points" if price.points == "both" else f"{price.points} points"
    lines = [f"tried in {100 * price.share:g} of 100 points ({points})"]
    lines += [f"{sent.per_point:g} a tried point: {_sent(sent, rulebook)}" for sent in price.sends]
    lines += [f"{n:+g} a tried point of our own {own_words(name, rulebook)}" for name, n in price.own.items()]
    for quality, balls in price.gives.items():
        lines.append(f"worth {balls:+g} balls a tried point, depending on their {_quality(quality, rulebook)}")
    lines += [f"moves our own {SHARES[name]} by {100 * by:+g} in 100" for name, by in price.moves.items()]
    if price.spot:
        lines.append(f"{price.spot:g} points a tried point for each unit of share by which their favourite spot leads")
    if price.costs:
        lines.append(f"costs {100 * price.costs:g} in 100 points")
    return tuple(lines)


def account(place: int, prices: Prices, rulebook: Rulebook) -> tuple[str, ...]:
    """Return the value of a row of the price book in this situation: one line per term, then the sum."""
    book = prices.book
    price, wing = book.of[place], book.rows[place][1]
    lines = [f"{100 * term.points:+.2f} {_term(term, rulebook)}" for term in prices.terms(place)]
    share, mean = 100 * price.share, 100 * float(prices.mean[place])
    costs = f", less {100 * price.costs:g} that it costs" if price.costs else ""
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
