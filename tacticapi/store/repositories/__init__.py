"""Queries. Every repository is made for one club and can reach no other.

Not here: when to commit (`unit`), what the rows mean (tacticapi.service). Next: `base`.
"""
