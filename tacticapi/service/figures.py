"""Numbers of the kept side. All are model defaults or house policy of ours, open to change; none is law."""

from datetime import timedelta

# Retention: how long after its end a match is kept when the club says nothing. Policy of ours.
KEEP_DAYS = 1_095
KEEP_DAYS_UNDER_18 = 365
OPEN_MATCH = timedelta(hours=48)  # a match still open after this was forgotten: the sweep ends it
ANSWERS_KEPT = timedelta(days=7)  # how long a repeated request is known by its key
DEAD_TOKENS_KEPT = timedelta(days=90)  # how long an expired or revoked token can still be listed

# Dossier: model defaults.
HALF_LIFE_DAYS = 180.0  # what was seen in a match counts half after so many days
OTHER_SURFACE = 0.7  # and this much of it on another surface
EXCLUSIVE_MOST = 0.95  # traits that exclude one another leave some room for none of them

# Debrief: model defaults.
IMPORTANT_POINTS = 5
SURPRISES = 5
INTERVAL = 0.80  # of tries: as much as match_low and match_high of a suggestion span
BEGIN_WITH = 3
