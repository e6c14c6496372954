"""Calculate with court and ball, in metres, seconds, degrees and rpm; the numbers are in rules/court.yaml."""
