"""The club of the token: how long it keeps what was seen, everything of it as an export, and players erased.

Not here: tokens and the making of clubs (tacticapi.cli.tokens), the sweep itself (tacticapi.club.retention).
Next: `routes`, `schemas`.
"""
