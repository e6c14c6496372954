"""Convert a request's score into a State, and refuse a score that no match can reach."""

import re
from collections.abc import Mapping, Sequence
from typing import Final

from tacticapi.scoring.formats import SIDES, Fault, Format, Pair, ScoreError, SetRule, TieBreak
from tacticapi.scoring.score import FORTY, GAME_CALLS, State

MAX_SCORE_COUNT: Final = 999
_COUNT: Final = re.compile(r"0|[1-9][0-9]{0,2}")
_FIELDS: Final = ("sets", "games", "points", "server", "serve")
SERVES: Final = ("first", "second")
_AD: Final = FORTY + 1


def read_score(fmt: Format, wire: Mapping[str, object] | None) -> State:
    """Return the state for a posted score; a missing field is zero or unknown, and a decided match has no server.

    Raises ScoreError with every fault; paths are relative to the score.
    """
    if wire is None:
        return State(fmt)
    if not isinstance(wire, Mapping):
        raise ScoreError([Fault((), wire, "an object with sets, games, points and server")])
    faults = [Fault((str(name),), wire[name], "one of " + ", ".join(_FIELDS)) for name in wire if name not in _FIELDS]
    sets = _read_sets(fmt, wire.get("sets"), faults)
    server = next((side for side in SIDES if side == wire.get("server")), None)
    if server is None and wire.get("server") is not None:
        faults.append(Fault(("server",), wire["server"], "own, opponent or null"))
    if wire.get("serve") not in (None, *SERVES):
        faults.append(Fault(("serve",), wire["serve"], " or ".join(SERVES)))
    if sets is None:
        _read_counts(("games",), wire.get("games"), faults)
        raise ScoreError(faults)
    finished = State(fmt, sets)
    games: Pair | None
    points: Pair | None
    if finished.winner is not None:
        for name, nothing in (("games", [0, 0]), ("points", ["0", "0"])):
            value = wire.get(name)
            pair = list(value) if isinstance(value, (list, tuple)) else value
            if pair is not None and pair != nothing:
                faults.append(Fault((name,), value, "nothing after the match is decided"))
        games, points, server = (0, 0), (0, 0), None
    else:
        games = _read_counts(("games",), wire.get("games"), faults)
        if games is not None and not finished.rule.is_open(games):
            faults.append(Fault(("games",), wire.get("games"), finished.rule.open_games_in_words))
            games = None
        points = _read_points(fmt, finished.rule, games, wire.get("points"), faults)
    if faults or games is None or points is None:
        raise ScoreError(faults)
    return State(fmt, sets, games, points, server)


def _read_sets(fmt: Format, value: object, faults: list[Fault]) -> tuple[Pair, ...] | None:
    if value is None:
        return ()
    if not isinstance(value, (list, tuple)):
        faults.append(Fault(("sets",), value, "a list of [own, opponent] pairs"))
        return None
    before = len(faults)
    if len(value) > fmt.sets:
        faults.append(Fault(("sets",), value, f"at most {fmt.sets} sets"))
    results: list[Pair] = []
    for index, item in enumerate(value[: fmt.sets]):
        path, rule = ("sets", index), fmt.set_rule(index)
        pair = _read_counts(path, item, faults)
        if State(fmt, tuple(results)).winner is not None:
            faults.append(Fault(path, item, "no set after the match is decided"))
        elif pair is not None and not rule.is_result(pair):
            faults.append(Fault(path, item, rule.results_in_words))
        elif pair is not None:
            results.append(pair)
    return tuple(results) if len(faults) == before else None


def _read_counts(path: tuple[str | int, ...], value: object, faults: list[Fault]) -> Pair | None:
    if value is None:
        value = (0, 0)
    if isinstance(value, (list, tuple)) and len(value) == 2:
        own, opponent = value
        if all(type(count) is int and 0 <= count <= MAX_SCORE_COUNT for count in (own, opponent)):
            return own, opponent
    faults.append(Fault(path, value, f"[own, opponent], two whole numbers from 0 to {MAX_SCORE_COUNT}"))
    return None


def _read_points(fmt: Format, rule: SetRule, games: Pair | None, value: object, faults: list[Fault]) -> Pair | None:
    if value is None:
        return 0, 0
    if not isinstance(value, (list, tuple)) or len(value) != 2 or not all(isinstance(call, str) for call in value):
        faults.append(Fault(("points",), value, "[own, opponent], two strings"))
        return None
    if games is None:
        return None
    tie_break = rule.tie_break if rule.in_tie_break(games) else None
    return _counts_of(value, tie_break, GAME_CALLS[:_AD] if fmt.no_ad else GAME_CALLS, faults)


def _counts_of(
    calls: Sequence[str], tie_break: TieBreak | None, allowed: Sequence[str], faults: list[Fault]
) -> Pair | None:
    known = len(faults)
    for index, call in enumerate(calls):
        plain = _COUNT.fullmatch(call)
        if tie_break and not plain:
            faults.append(Fault(("points", index), call, "a plain number as a string, as in a tie-break"))
        elif not tie_break and call not in allowed:
            why = "; plain numbers belong to a tie-break" if plain else ""
            faults.append(Fault(("points", index), call, f"one of {', '.join(allowed)}{why}"))
    if len(faults) > known:
        return None
    own, opponent = (int(call) if tie_break else allowed.index(call) for call in calls)
    if tie_break and tie_break.is_over((own, opponent)):
        end = f"with a deciding point at {tie_break.points - 1} all" if tie_break.deciding_point else "by two"
        faults.append(Fault(("points",), calls, f"points of a tie-break in progress, to {tie_break.points} {end}"))
    elif not tie_break and max(own, opponent) == _AD and FORTY not in (own, opponent):
        faults.append(Fault(("points",), calls, "AD only against 40"))
    return (own, opponent) if len(faults) == known else None
