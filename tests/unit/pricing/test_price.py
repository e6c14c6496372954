"""What a tactic gains a point: read from the opponent, from our own strokes and serve, and learned from its tries."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import logit

from tacticapi.domain.reasoning import Fact, Firing
from tacticapi.domain.rules import MOVES, USUAL_LEVEL, Aim, Ball, FactKind, Level, Price, Sent, Touches
from tacticapi.domain.situation import Tries, Way, Wing
from tacticapi.evidence.gaussian import centre
from tacticapi.pricing.price import COUNTED_BY, PriceBook, price_findings, together
from tacticapi.rulebook.load import load

from ...builders import drawn, plain_tactic, tally

RULES = load()
PRICED = [tactic for tactic in RULES.tactics.values() if tactic.price]
each_tactic = pytest.mark.parametrize("tactic", PRICED, ids=[one.id for one in PRICED])


def rows_of(tactic, book):
    return [place for row, place in book.place.items() if row[0] == tactic.id]


@pytest.mark.parametrize("level", Level)
def test_against_the_usual_player_a_tactic_gains_nothing_and_costs_what_it_costs(level, book, prices_of):
    usual = prices_of(book, level=level, **dict.fromkeys(book.strokes_read, 2))
    assert not usual.read.any()
    for row, price in enumerate(book.of):
        assert price.moves or usual.mean[row] == pytest.approx(-price.costs), book.rows[row]


def named(tactic):
    """The weaknesses on which a tactic says that it rests, with the wing."""
    for condition in (condition for alternative in tactic.when for condition in alternative.conditions):
        if condition.kind is FactKind.BELIEF and RULES.traits[condition.name].regions:
            told = {test.value for test in condition.tests if test.field == "wing"}
            for wing in RULES.traits[condition.name].wings:
                if wing is None or not told or wing in told:
                    yield RULES.traits[condition.name], wing


def towards(trait, wing, latent):
    """One standard deviation of a player towards a trait, in each thing that makes it up."""
    way = np.zeros(len(latent.dims))
    for region in trait.regions:
        if not region.outer:
            vector = latent.vector(region.of, wing)
            way += vector / np.linalg.norm(vector) * (1.0 if region.high == 1.0 else -1.0)
    return way


@each_tactic
@pytest.mark.parametrize("level", Level)
def test_a_price_rises_with_every_weakness_on_which_the_tactic_rests(tactic, level, book, evidence, prices_of):
    latent = evidence.profiles.latents[level]
    for trait, wing in named(tactic):
        for row in rows_of(tactic, book):
            if book.rows[row][1] in (None, wing) or wing is None:
                steps = [prices_of(book, level=level, opponent=n * towards(trait, wing, latent)) for n in range(4)]
                means = [float(prices.mean[row]) for prices in steps]
                assert means == sorted(set(means)), f"{trait.id} {wing}"


def sent_to(price, aimed):
    """The wing whose strokes a tactic plays to; that to which it goes first, if a second ball goes to the other."""
    balls = [one for one in price.sends if {"wing", "return_wing"} & {*RULES.balls[one.ball].finds}]
    aims = [one.wing for one in balls if one.wing is not Aim.EITHER]
    return {w for aim in [a for a in aims if a is not Aim.OTHER] or aims if (w := aim.wing(aimed)) is not None}


each_aimed = pytest.mark.parametrize(
    "tactic",
    [t for t in PRICED if t.price and any(sent_to(t.price, wing) for wing in (None, *Wing))],
    ids=lambda tactic: tactic.id,
)


@each_aimed
def test_a_wing_that_is_surely_better_is_never_worth_aiming_at(tactic, book, evidence, prices_of):
    for level in Level:
        latent = evidence.profiles.latents[level]
        for row in rows_of(tactic, book):
            for wing in sent_to(book.of[row], book.rows[row][1]):
                better = np.zeros(len(latent.dims))
                better[latent.place["wing", wing]] = 2.0
                assert prices_of(book, level=level, opponent=better).read[row] <= 1e-12, f"{level} {wing}"


@each_aimed
def test_two_wings_that_are_worse_alike_make_neither_worth_aiming_at(tactic, book, evidence, prices_of):
    latent = evidence.profiles.latents[USUAL_LEVEL]
    for quality in ("wing", "return_wing"):
        alike = np.zeros(len(latent.dims))
        alike[[latent.place[quality, wing] for wing in Wing]] = -1.0
        assert (prices_of(book, opponent=alike).read[rows_of(tactic, book)] <= 1e-12).all(), quality


def test_more_seen_of_a_weakness_raises_its_price_and_makes_it_surer(book, prices_of, situation):
    row = book.place["work-weaker-wing", Wing.BACKHAND]
    seen = []
    for n in (2, 6, 20, 60):
        errors = [tally("rally.backhand_errors", n, 2 * n), tally("rally.forehand_errors", n // 2, 3 * n)]
        seen.append(prices_of(book, situation=situation(observations=errors)))
    means, spreads = ([float(getattr(prices, part)[row]) for prices in seen] for part in ("mean", "spread"))
    assert means == sorted(set(means))
    assert spreads == sorted(set(spreads), reverse=True)


RATED = sorted(k.key for k in RULES.kinds.values() if k.subject == "own" and Way.RATING in k.ways and not k.health)


@each_tactic
def test_a_better_stroke_lowers_no_price_unless_the_rule_says_that_it_is_played_less(tactic, book, prices_of):
    """A serve tactic that moves shares may: the better the second serve, the less a safe first one is worth."""
    assert tactic.price
    needed = {key for gate in tactic.needs for key in gate.keys}
    for stroke in RATED:
        if tactic.price.own.get(stroke, 0.0) >= 0.0 and (stroke in needed or not tactic.price.moves):
            means = [prices_of(book, **{stroke: rating}).mean[rows_of(tactic, book)] for rating in (2, 3, 4)]
            assert (np.diff(means, axis=0) >= -1e-12).all(), stroke


def test_a_stroke_played_less_costs_the_more_the_better_it_is(book, prices_of):
    fewer = [(row, s) for row, price in enumerate(book.of) for s, balls in price.own.items() if balls < 0]
    assert fewer
    for row, stroke in fewer:
        assert prices_of(book, **{stroke: 4}).mean[row] < prices_of(book, **{stroke: 2}).mean[row]


BALLS = {
    "plain": Ball("plain", "a plain ball", {"strokes": 1.0, "wing": 1.0}),
    "tall": Ball("tall", "a tall ball", {"strokes": 1.0, "wing": 1.0, "high": 1.0}),
    "short": Ball("short", "a short ball", {"forward": 1.0, "strokes": 0.5}),
    "usual": Ball("usual", "the usual mix", of={"plain": 0.75, "tall": 0.25}),
}
FIGURES = {"value": 0.1, "as_meant": 0.8, "own_spread": 0.4, "model_error": 0.01, "carried_out": 0.1}
AT_THE_WING = Price(Touches.BOTH, 0.5, (Sent("tall", 2.0, "usual", Aim.AIMED),), costs=0.001)
DRAWN_IN = Price(Touches.BOTH, 0.25, (Sent("short", 1.0, "plain"),), own={"drop_shot": 0.5}, gives={"comes_in": -0.2})
LED = Price(Touches.RETURN, 0.2, spot=0.15, gives={"tell": 0.3})


def small_book(rulebook, evidence, **prices):
    """A book of our own balls and figures, with a tactic for each price."""
    figures = {**rulebook.defaults, "prices": {**rulebook.defaults["prices"], **FIGURES}}
    tactics = {id: plain_tactic(id, price=price) for id, price in prices.items()}
    return PriceBook(replace(rulebook, balls=BALLS, tactics=tactics, defaults=figures), evidence.profiles)


def player(latent, log_odds):
    """A player who departs from the usual one by these log-odds."""
    values = np.zeros(len(latent.dims))
    for dim, by in log_odds.items():
        values[latent.place[dim]] = by / latent.spreads[latent.place[dim]]
    return values


FOREHAND, BACKHAND = Wing.FOREHAND, Wing.BACKHAND


@pytest.mark.parametrize(
    ("price", "wing", "player_is", "lead", "gain"),
    [
        # two tall balls to a backhand worse by 0.6, in height by 0.4: sent 1.0, replaced 0.5 x 0.6 + 0.25 x 0.5 x 0.4;
        # 0.5 of the points x 0.8 as meant x 0.1 x 2 x 0.65, less 0.001
        (AT_THE_WING, BACKHAND, {("wing", BACKHAND): -0.6, ("high", BACKHAND): -0.4}, 0.0, 0.5 * 0.104 - 0.001),
        # aimed at the other wing it replaces what finds the weakness
        (AT_THE_WING, FOREHAND, {("wing", BACKHAND): -0.6, ("high", BACKHAND): -0.4}, 0.0, 0.5 * -0.056 - 0.001),
        # all strokes worse alike: what is sent and what is replaced find the same
        (AT_THE_WING, BACKHAND, {("strokes", None): -1.0}, 0.0, -0.001),
        # forward worse by 0.5: 0.8 x 0.1 x 0.5; strokes better by 0.2 count half: 0.8 x 0.1 x 0.1; comes in 1.0 more:
        # -0.2 x 0.1; a drop shot rated 3.3 is one standard deviation: 0.5 x 0.1 x 0.4
        (DRAWN_IN, None, {("forward", None): -0.5, ("strokes", None): 0.2, ("comes_in", None): 1.0}, 0.0,
         0.25 * (0.040 + 0.008 - 0.020 + 0.020)),
        # a spot that leads by 0.2: 0.15 x 0.2; a serve that can be read by 0.5: 0.3 x 0.1 x 0.5
        (LED, None, {("tell", None): 0.5}, 0.2, 0.2 * (0.030 + 0.015)),
    ],
)  # fmt: skip
def test_a_price_is_what_one_works_out_by_hand(rulebook, evidence, prices_of, price, wing, player_is, lead, gain):
    book = small_book(rulebook, evidence, ours=price)
    them = player(evidence.profiles.latents[USUAL_LEVEL], player_is)
    prices = prices_of(book, opponent=them, lead=(lead, 0.0), drop_shot=3.3)
    assert prices.mean[book.place["ours", wing]] == pytest.approx(gain, abs=1e-12)


SHARES = (Fraction(6, 10), Fraction(7, 10), Fraction(1, 10), Fraction(45, 100))
"""Our serves in, points won behind them, double faults, points won on seconds: so half of the seconds in play."""


def server(rulebook, evidence, shares):
    """Our own player with these shares of the four records."""
    latent = evidence.profiles.latents[USUAL_LEVEL]
    summed = [latent.summed(rulebook.kinds[f"record.{one}"].measures[0], None) for one in COUNTED_BY]
    usual = [rulebook.kinds[f"record.{one}"].measures[0].usual[USUAL_LEVEL] for one in COUNTED_BY]
    triples = zip(shares, usual, summed, strict=True)
    by = [logit(float(share)) - centre(middle, spread) for share, middle, (_, spread) in triples]
    return np.asarray(np.linalg.lstsq(np.array([vector for vector, _ in summed]), np.array(by), rcond=None)[0])


def won(first, behind, doubles, in_play):
    return first * behind + (1 - first) * (1 - doubles) * in_play


@pytest.mark.parametrize(
    "moves",
    [
        {"first_serves_in": 0.1, "won_behind_first": -0.02},
        {"first_serves_in": -0.08, "won_behind_first": 0.05},
        {"double_faults": 0.04, "won_in_play": 0.03},
        dict.fromkeys(MOVES, 0.01),
    ],
)
def test_moves_of_our_own_serve_gain_what_the_serve_points_say(rulebook, evidence, prices_of, moves):
    book = small_book(rulebook, evidence, ours=Price(Touches.SERVE, 0.4, moves=moves))
    first, behind, doubles, second = SHARES
    before = (first, behind, doubles, second / (1 - doubles))
    after = [share + Fraction(str(moves.get(name, 0))) for name, share in zip(MOVES, before, strict=True)]
    gain = Fraction(4, 10) * (won(*after) - won(*before))
    found = prices_of(book, own=server(rulebook, evidence, SHARES))
    assert found.mean[0] == pytest.approx(float(gain), abs=1e-9)


def anybody(latent, seed):
    return np.random.default_rng(seed).normal(size=len(latent.dims))


def test_the_variance_is_that_of_the_gradient_and_of_what_the_arithmetic_leaves_out(
    book, evidence, prices_of, rulebook
):
    """Nothing seen: every latent value has the variance 1. Strokes of our own are taken as they are rated."""
    latent = evidence.profiles.latents[USUAL_LEVEL]
    them, us, step = anybody(latent, 1), anybody(latent, 2), 1e-4
    here = prices_of(book, opponent=them, own=us, lead=(0.1, 0.003))
    left_out = float(rulebook.defaults["prices"]["model_error"])
    variance = (book.share * left_out) ** 2 + (book.share * book.spot) ** 2 * 0.003
    moving = np.array([bool(price.moves) for price in book.of])
    for n in range(len(latent.dims)):
        aside = step * np.eye(len(latent.dims))[n]
        for side, players in (("opponent", {"own": us}), ("own", {"opponent": them})):
            at = them if side == "opponent" else us
            moved = ({**players, side: at + s * aside} for s in (1.0, -1.0))
            up, down = (prices_of(book, lead=(0.1, 0.003), **both).mean for both in moved)
            gradient = (up - down) / (2 * step)
            variance += np.where(moving, gradient, 0.0) ** 2 if side == "own" else gradient**2
    both = np.array([bool(price.moves and price.own) for price in book.of])  # our strokes are in the gradient then
    assert here.spread[~both] == pytest.approx(np.sqrt(variance[~both]), rel=1e-5)


def test_a_price_is_the_sum_of_its_terms(book, evidence, prices_of):
    latent = evidence.profiles.latents[USUAL_LEVEL]
    ratings = {stroke: n % 5 for n, stroke in enumerate(book.strokes_read)}
    prices = prices_of(book, opponent=anybody(latent, 3), own=anybody(latent, 4), lead=(0.2, 0.01), **ratings)
    for row, price in enumerate(book.of):
        terms = sum(term.points for term in prices.terms(row))
        assert prices.mean[row] == pytest.approx(price.share * terms - price.costs)


def test_what_was_seen_adds_up_to_what_the_price_reads_and_weak_strokes_never_speak_against_it(
    book, prices_of, situation
):
    """A rating of 1 beside a count that shows more is evidence too, though the count alone would say more."""
    seen = [
        {"what": "warmup.high_backhand", "rating": 1},
        tally("rally.against_high_ball", 2, 6, wing="backhand", set=1, game=2),
        {"what": "quality.stroke", "rating": 3, "wing": "forehand"},
    ]
    row = book.place["high-ball-to-high-ball-weakness", Wing.BACKHAND]
    prices = prices_of(book, situation=situation(observations=seen))
    told = {pool.kind.id: points for pool, points in prices.told([row])[row]}
    assert told.keys() == {one["what"] for one in seen}
    assert sum(told.values()) == pytest.approx(prices.read[row], abs=1e-9)
    assert told["rally.against_high_ball"] > told["warmup.high_backhand"] > 0.0


def edits(price):
    """Each number and name of a price changed, with the name of its field."""
    balls = sorted(RULES.balls)
    for number in ("share", "costs", "spot"):
        if before := getattr(price, number):
            yield number, replace(price, **{number: 1.1 * before})
    for table in ("own", "gives", "moves"):
        for name, by in getattr(price, table).items():
            yield f"{table}/{name}", replace(price, **{table: {**getattr(price, table), name: 1.1 * by}})
    for n, sent in enumerate(price.sends):
        another = [ball for ball in balls if ball not in (sent.ball, sent.instead_of)]
        changes = {"per_point": 1.1 * sent.per_point, "ball": another[0], "instead_of": another[-1]}
        if any("wing" in key for key in RULES.balls[sent.ball].finds):
            changes["wing"] = Aim.BACKHAND if sent.wing is Aim.FOREHAND else Aim.FOREHAND
        for name, value in changes.items():
            sends = (*price.sends[:n], replace(sent, **{name: value}), *price.sends[n + 1 :])
            yield f"sends/{n}/{name}", replace(price, sends=sends)


def moved(one, other, evidence, prices_of):
    """Whether two books of one tactic price it differently, against players who are not the usual ones."""
    latent = evidence.profiles.latents[USUAL_LEVEL]
    found = []
    for book in (one, other):
        ratings = dict.fromkeys(book.strokes_read, 4)
        asked = {"opponent": anybody(latent, 5), "own": anybody(latent, 6), "lead": (0.2, 0.01)}
        prices = prices_of(book, **asked, **ratings)
        found.append({(prices.mean[row], prices.spread[row]) for row in range(len(book.rows))})
    pairs = [np.array(sorted(pair)) for pair in found]
    return pairs[0].shape != pairs[1].shape or bool(np.abs(pairs[0] - pairs[1]).max() > 1e-9)


@each_tactic
def test_an_edit_of_a_price_moves_what_the_tactic_is_worth(tactic, rulebook, evidence, prices_of):
    def priced_at(price):
        return PriceBook(replace(rulebook, tactics={tactic.id: replace(tactic, price=price)}), evidence.profiles)

    for field, price in edits(tactic.price):
        assert moved(priced_at(tactic.price), priced_at(price), evidence, prices_of), field


@pytest.mark.parametrize("figure", ["value", "as_meant", "own_spread", "model_error"])
def test_an_edit_of_a_figure_moves_what_tactics_are_worth(figure, rulebook, evidence, prices_of, book):
    figures = rulebook.defaults["prices"]
    changed = {**rulebook.defaults, "prices": {**figures, figure: 1.1 * figures[figure]}}
    other = PriceBook(replace(rulebook, defaults=changed), evidence.profiles)
    assert moved(book, other, evidence, prices_of)


def test_every_number_moves_something_and_every_price_can_be_reached(rulebook, evidence, book):
    assert list(price_findings(book)) == []
    idle = Price(Touches.BOTH, 0.5, (Sent("tall", 1.0, "tall"),), gives={"tell": 1.0})
    dear = replace(AT_THE_WING, costs=0.3)
    found = list(price_findings(small_book(rulebook, evidence, idle=idle, dear=dear)))
    told = {(name, what.split()[0]) for name, what, _ in found}
    assert told == {("idle", "price/sends/tall"), ("dear", "price/costs")}


def fired(tactic, wing=None):
    fields = {"wing": wing.value} if wing else {}
    return Firing(tactic, 0, (Fact("b", FactKind.BELIEF, "weak", fields),))


def test_a_tactic_is_priced_at_the_wing_that_was_matched_and_at_the_better_one_if_none_was(
    rulebook, evidence, prices_of
):
    book = small_book(rulebook, evidence, ours=AT_THE_WING)
    ours = book.rulebook.tactics["ours"]
    weak_backhand = player(evidence.profiles.latents[USUAL_LEVEL], {("wing", BACKHAND): -0.6})
    prices = prices_of(book, opponent=weak_backhand)

    def at(*wings):
        place = prices.of([fired(ours, wing) for wing in wings]).place
        assert place is not None
        return book.rows[place]

    assert at(None) == at(FOREHAND, BACKHAND) == at(BACKHAND) == ("ours", BACKHAND)
    assert at(FOREHAND) == ("ours", FOREHAND)


def test_a_few_tries_move_the_order_and_enough_of_them_also_the_claim(rulebook, evidence, prices_of, situation):
    book = small_book(rulebook, evidence, ours=AT_THE_WING)
    ours = book.rulebook.tactics["ours"]

    def after(tried, won):
        seen = [tally("rally.backhand_errors", 24, 40)]
        asked = replace(situation(observations=seen), tries=(Tries("ours", tried, won),))
        return prices_of(book, situation=asked).of([fired(ours, BACKHAND)])

    untried, few, lost, good = after(0, 0), after(book.tries - 1, 0), after(book.tries, 0), after(40, 40)
    assert few.learned < untried.learned
    assert (few.point, few.pays_in) == (untried.point, untried.pays_in)
    assert lost.point == lost.learned < untried.point
    assert lost.pays_in < untried.pays_in < good.pays_in
    assert good.point == untried.point < good.learned


@given(total=st.floats(-0.1, 0.3), more=st.floats(0.0001, 0.01), cap=st.sampled_from((0.015, 0.03)))
def test_all_lines_together_claim_less_than_the_cap_and_never_less_for_one_more(total, more, cap):
    assert together(total, cap) <= min(cap, total) if total > 0 else together(total, cap) == total
    assert together(total, cap) <= together(total + more, cap)


def test_prices_that_rest_on_the_same_are_alike_and_others_are_not(rulebook, evidence, prices_of, situation):
    """Against draws from the posterior: only the part that is read from the opponent is shared."""
    book = small_book(rulebook, evidence, a=AT_THE_WING, b=replace(AT_THE_WING, share=0.1), c=DRAWN_IN)
    places = [book.place["a", BACKHAND], book.place["a", FOREHAND], book.place["b", BACKHAND], book.place["c", None]]
    for seen in ([], [tally("rally.backhand_errors", 9, 20)]):
        prices = prices_of(book, situation=situation(observations=seen))
        sums = book.slopes[USUAL_LEVEL][places]
        fit = evidence.believe(situation(observations=seen)).opponent
        draws = drawn(fit, 40_000, np.random.default_rng(7)) @ sums.T
        assert prices.alike(places) == pytest.approx(np.corrcoef(draws.T), abs=0.02)
    assert prices.alike(places)[0, 2] == pytest.approx(1.0)
