"""Observations to beliefs: likelihoods, ageing, families, exclusive traits.

Not here: rules, values, wording of advice. Only the standard library and the folders below are used.
Next: `believe` holds the road; `likelihood` the arithmetic, `entries` what of the observations counts at all,
`outlook` what a further look could show.
"""

from tacticapi.evidence.believe import Beliefs, EvidenceModel
from tacticapi.evidence.entries import Entry
from tacticapi.evidence.outlook import Prospects

__all__ = ["Beliefs", "Entry", "EvidenceModel", "Prospects"]
