"""Observations to beliefs: likelihoods, ageing, families, exclusive traits.

Not here: rules, values, wording of advice. Only the standard library and the folders below are used.
Next: `believe` holds the road; `likelihood` the arithmetic, `entries` what of the observations counts at all.
"""

from tacticapi.evidence.believe import Beliefs, EvidenceModel

__all__ = ["Beliefs", "EvidenceModel"]
