"""The words that stand above the contract."""

TAG_ORDER = (
    "suggestions",
    "explanations",
    "calculations",
    "court-calculations",
    "players",
    "matches",
    "observations",
    "points",
    "tries",
    "live",
    "pictures",
    "card",
    "feedback",
    "debrief",
    "dossier",
    "clubs",
    "vocabulary",
    "traits",
    "tactics",
    "sources",
    "rulebook",
    "reference",
    "health",
    "metrics",
)

ABOUT = {
    "summary": "What was seen of an unknown tennis opponent, turned into ranked and explained suggestions.",
    "description": """\
Post what was seen of an opponent; get a few suggestions, each with its reasons in counts, what it is worth, when to
look again, and its source or the words "common practice".

- Everything but `moment` is optional. Absent or null means unknown, not no. Unknown names are refused.
- Whether advice may be used during play is for the event's rules on coaching and analysis devices to say; post
  `context.coaching` and `context.device`, and where they do not permit it the answer is safety and a notice alone.
- Safety stands before tactics and defers to local codes and licensed practice.
- Gains and thresholds are model defaults of this service, not measured results. Not for betting.
- Errors are problem documents (RFC 9457): every fault with the place in the body (RFC 6901) and what was expected.
- What is kept belongs to one club and is opened by a bearer token with the scope that the operation names (RFC 6750);
  a service that only its own machine reaches needs none. What belongs to another club is not found.
- Players stand by nickname or code. Entries of a match are added and corrected by further entries, never changed; send
  an Idempotency-Key with them, and what is sent again is added once.
- What is polled carries an ETag for If-None-Match; a change of a player or a match names in If-Match what was read.
- Lists come in pages; the Link header names the next one. Answers about the rulebook carry an ETag and change only
  with the rules.
""",
    "license": {"name": "MIT", "identifier": "MIT"},
}
