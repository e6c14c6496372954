"""What became of a suggestion."""

from collections.abc import Mapping

from tacticapi.service.advising import known_snapshot
from tacticapi.service.desk import Desk
from tacticapi.service.errors import NotFound, refuse
from tacticapi.service.once import Once, done_once
from tacticapi.store import Feedback, new_id

USED, NOT_USED, OUTCOME = KINDS = "used", "not-used", "outcome"
OUTCOMES = ("helped", "made no difference", "did not help")
LONGEST_REASON = 500


def add(
    desk: Desk,
    club_id: str,
    advice_id: str,
    tactic: str,
    *,
    kind: str,
    reason: str | None = None,
    once: Once | None = None,
) -> Feedback:
    """Keep that a suggestion was used, was not used (with the reason), or its outcome (a word of OUTCOMES).

    Points won by it are tries, not feedback. Raises NotFound, Refused, IdempotencyConflict.
    """
    _check(kind, reason)

    def do() -> Mapping[str, str]:
        snapshot = known_snapshot(work, advice_id)
        if tactic not in {shown["tactic"] for shown in snapshot.advice["suggestions"]}:
            raise refuse("a tactic that this advice suggested", "tactic", value=tactic)
        line = Feedback(club_id, new_id(), snapshot.id, tactic, kind, reason, desk.now())
        work.feedback.add(line)
        return {"id": line.id}

    with desk.work(club_id) as work:
        made = work.feedback.get(done_once(work, once, desk.now(), do)["id"])
        work.commit()
    if made is None:
        raise NotFound("feedback", advice_id)
    return made


def _check(kind: str, reason: str | None) -> None:
    if kind not in KINDS:
        raise refuse(f"one of {', '.join(KINDS)}", "kind", value=kind)
    if kind == OUTCOME and reason not in OUTCOMES:
        raise refuse(f"one of {', '.join(OUTCOMES)}", "reason", value=reason)
    if kind == NOT_USED and not reason:
        raise refuse("the reason why it was not used", "reason")
    if kind == USED and reason is not None:
        raise refuse("no reason beside used", "reason", value=reason)
