"""The situation: what a client posts to be advised on, read and checked against the vocabulary.

Not here: routes; suggestions and explanations take the same body. Next: `schemas`, then `observations`, `profiles`.
"""
