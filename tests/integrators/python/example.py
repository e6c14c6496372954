"""Keep a match from the start to the debrief with the generated client; the address of the service is the argument."""

import sys
from typing import TypeVar

from court_client import Client, models
from court_client.api.advice import add_feedback, get_advice, suggest_now
from court_client.api.calculations import calculate_win_chance
from court_client.api.matches import add_match, change_match, end_match, get_debrief
from court_client.api.observations import add_observations, list_observations
from court_client.api.players import add_player, get_dossier
from court_client.api.points import add_point, get_score
from court_client.api.rulebook import list_vocabulary
from court_client.api.suggestions import suggest
from court_client.api.tries import add_tries

Told = TypeVar("Told")


def given(answer: Told | models.Problem | None) -> Told:
    """Return the answer; a problem ends the program."""
    assert answer is not None
    if isinstance(answer, models.Problem):
        raise SystemExit(f"{answer.title}: {answer.detail}")
    return answer


client = Client(base_url=sys.argv[1])
own = given(
    add_player.sync(client=client, body=models.NewPlayer(side=models.Side.OWN, label="Elm", facts=models.Own(volley=1)))
)
opponent = given(add_player.sync(client=client, body=models.NewPlayer(side=models.Side.OPPONENT, label="Hail")))
context = models.Context(surface=models.Surface.CLAY, coaching=models.Coaching.PERMITTED, device=models.Device.COACH)
match = given(
    add_match.sync(client=client, body=models.NewMatch(own_id=own.id, opponent_id=opponent.id, context=context))
)
assert match.context.surface is models.Surface.CLAY

change = models.MatchChange(first_server=models.Side.OWN)
match = given(change_match.sync(match.id, client=client, body=change, if_match=f'"{match.version}"'))
seen = models.NewObservation(what=models.ObservationKind.SERVE_FOLLOWED_TO_NET, count=5, of=6)
receipt = given(add_observations.sync(match.id, client=client, body=seen, idempotency_key="one"))
assert isinstance(receipt, models.Receipt)
more = [
    models.Observation(what=models.ObservationKind.WARMUP_HIGH_BACKHAND, rating=1),
    models.Observation(what=models.ObservationKind.WARMUP_MIDDLE_BALL_ON_FOREHAND, count=7, of=8),
]
receipts = given(add_observations.sync(match.id, client=client, body=more))
assert isinstance(receipts, models.Receipts)
kept = given(list_observations.sync(match.id, client=client))
assert kept.items[0].observation.what is models.ObservationKind.SERVE_FOLLOWED_TO_NET
for winner in (models.Side.OWN, models.Side.OPPONENT, models.Side.OWN, models.Side.OWN, models.Side.OWN):
    given(add_point.sync(match.id, client=client, body=models.NewPoint(winner=winner)))
assert given(get_score.sync(match.id, client=client)).score.games == [1, 0]

advice = given(
    suggest_now.sync(match.id, client=client, moment=models.Moment.CHANGE_OF_ENDS, include="beliefs,profile")
)
assert advice.beliefs
assert advice.profile
first = advice.suggestions[0]
print("because", "; ".join(reason.text for reason in first.because))
given(add_tries.sync(match.id, client=client, body=models.NewTries(tactic=first.tactic, tried=3, won=2)))
used = models.NewFeedback(tactic=first.tactic, kind=models.FeedbackKind.USED)
given(add_feedback.sync(advice.advice_id, client=client, body=used))
stored = given(get_advice.sync(advice.advice_id, client=client))
again = given(suggest.sync(client=client, body=stored.situation))
assert again.suggestions[0].tactic == first.tactic

wrong = add_observations.sync(match.id, client=client, body=models.NewObservation(what=seen.what, count=7, of=6))
assert isinstance(wrong, models.Problem)
assert wrong.errors[0].pointer == "/count"

ended = given(end_match.sync(match.id, client=client, if_match=f'"{match.version}"'))
assert ended.status == "ended"
assert given(get_debrief.sync(match.id, client=client)).tactics
assert given(get_dossier.sync(opponent.id, client=client)).label == "Hail"
chances = models.PointChances(own_serve=0.62, opponent_serve=0.6)
chance = given(calculate_win_chance.sync(client=client, body=models.WinChanceQuestion(point_chances=chances)))
assert 0.5 < chance.match.chance < 0.7
assert given(list_vocabulary.sync(client=client, page_size=1)).items[0].id
