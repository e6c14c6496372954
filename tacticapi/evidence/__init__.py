"""Observations to beliefs: likelihoods, ageing, families, exclusive traits.

Not here: rules, values, wording of advice. Only the standard library and the folders below are used.
Next: `beliefs` holds the road; `entries` what of the observations counts at all, `likelihood` the arithmetic,
`next_observation` what seeing one more thing could show.
"""
