"""What can be drawn of a match, if the event and the players' safety permit it at that moment. Nothing is kept."""

from collections import Counter, defaultdict
from collections.abc import Mapping

from tacticapi.domain.situation import Situation
from tacticapi.domain.terms import Moment
from tacticapi.evidence.beliefs import EvidenceModel
from tacticapi.pricing.baseline import baseline
from tacticapi.service.debrief.beliefs import BeliefMove
from tacticapi.service.debrief.story import StoryPoint, most_important, story
from tacticapi.service.desk import Desk
from tacticapi.service.health import health_of
from tacticapi.service.permits import check_moment, narrowest_moment, not_permitted, withheld_at
from tacticapi.service.scorekeeping import format_of, state_after
from tacticapi.service.situations import Kept, read_kept, situation

SERVE_SPOTS = {"serve.deuce_court_spots": "deuce", "serve.ad_court_spots": "ad"}


def permitted(desk: Desk, club_id: str, match_id: str, moment: Moment | None) -> tuple[Kept, Situation]:
    """Return what is kept of a match and what it means at a moment; without one, while it is played, at the narrowest.

    Raises NotFound; Refused for a moment that the match is not at; NotPermitted if only safety may be shown at it.
    """
    kept, known = at_moment(desk, club_id, match_id, moment)
    if kept.match.status == "open" and (instead := withheld_at(desk, known)):
        raise not_permitted(instead)
    return kept, known


def at_moment(desk: Desk, club_id: str, match_id: str, moment: Moment | None) -> tuple[Kept, Situation]:
    """Return the same without asking whether it may be shown. Raises NotFound; Refused."""
    with desk.reading(club_id) as work:
        kept = read_kept(work, match_id)
    if moment is not None:
        check_moment(desk, kept, moment)
    return kept, situation(kept, moment or narrowest_moment(desk, kept), desk.rulebook)


def score_story(
    desk: Desk, club_id: str, match_id: str, moment: Moment | None
) -> tuple[tuple[StoryPoint, ...], tuple[StoryPoint, ...]]:
    """The score's story so far, and the points of it that mattered most. Raises as `permitted`."""
    kept, known = permitted(desk, club_id, match_id, moment)
    defaults = desk.rulebook.defaults
    told = story(kept.steps, format_of(kept.match), baseline(known, defaults))
    return told, most_important(told, int(defaults["debrief"]["important_points"]))


def seen_beliefs(desk: Desk, club_id: str, match_id: str, moment: Moment | None) -> tuple[BeliefMove, ...]:
    """Every belief that something was seen of, from its prior to now, that which moved most first; none about health.

    Raises as `permitted`.
    """
    kept, known = permitted(desk, club_id, match_id, moment)
    rulebook, health = desk.rulebook, health_of(desk.rulebook)
    beliefs = EvidenceModel(rulebook).believe(health.situation(known), state_after(kept.steps)).all
    moves = [
        BeliefMove(
            belief.trait,
            belief.wing,
            rulebook.traits[belief.trait].title,
            round(belief.prior, 3),  # as the JSON tells them, so that picture and answer never differ
            round(belief.probability, 3),
            tuple(part.text for part in belief.contributions),
        )
        for belief in beliefs
        if belief.contributions and not health.moved(belief)
    ]
    return tuple(sorted(moves, key=lambda move: (-round(abs(move.move), 9), move.trait, move.wing or "")))


def serve_counts(
    desk: Desk, club_id: str, match_id: str, moment: Moment | None, serve: str | None = None
) -> Mapping[str, Mapping[str, float]]:
    """The opponent's serves by court and spot, as counted; only first or second serves where `serve` says so.

    Raises as `permitted`.
    """
    _, known = permitted(desk, club_id, match_id, moment)
    found: dict[str, Counter[str]] = defaultdict(Counter)
    for seen in known.observations:
        if seen.what in SERVE_SPOTS and seen.counts and serve in (None, seen.serve):
            found[SERVE_SPOTS[seen.what]].update(seen.counts)
    return found
