"""Players of the club and opponents: a nickname or code, and playing facts.

Not here: what is believed of an opponent (tacticapi.api.dossier), erasing (tacticapi.club.retention).
Next: `routes`, `schemas`.
"""
