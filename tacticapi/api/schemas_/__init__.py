"""JSON Schemas of what is posted and answered, for clients that check before they post and after they read.

Not here: the schemas themselves: each noun's own `schemas`, the vocabulary's in tacticapi.api.contract.
Next: `routes`, `named` (which are published).
"""
