"""Observations to beliefs: likelihoods, ageing, families, exclusive traits.

Not here: rules, values, wording of advice. Only the standard library and the folders below are used.
Next: `believe` holds the road; `likelihood` the arithmetic, `entries` what of the observations counts at all,
`prospects` and `outlook` what a further look could show.
"""

from tacticapi.evidence.believe import Beliefs, EvidenceModel
from tacticapi.evidence.entries import Entry
from tacticapi.evidence.prospects import Prospect, Prospects

__all__ = ["Beliefs", "Entry", "EvidenceModel", "Prospect", "Prospects"]
