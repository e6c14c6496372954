"""How long what is kept is kept, where a club or a deployment says nothing: house policy of ours, none of it law."""

from datetime import timedelta

KEEP_DAYS = 1_095  # of a match after its end
KEEP_DAYS_UNDER_18 = 365  # the same if anyone in it is under 18, or of unknown age
OPEN_MATCH = timedelta(hours=48)  # a match still open after this was forgotten: the sweep ends it
ANSWERS_KEPT = timedelta(days=7)  # how long a repeated request is known by its key
DEAD_TOKENS_KEPT = timedelta(days=90)  # how long an expired or revoked token can still be listed
