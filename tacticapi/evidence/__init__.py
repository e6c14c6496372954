"""Observations to one profile of each player, and from it to beliefs.

Not here: rules, prices, wording of advice. Only numpy, scipy and the packages below are used.
Next: `beliefs` holds the road; `entries` says what of the observations counts at all, `profile` joins them into the
posterior of each player, `gaussian` is its arithmetic, `spots` the serve spots, `changes` what a change of play closes,
`next_observation` what seeing one more thing could show.
"""
