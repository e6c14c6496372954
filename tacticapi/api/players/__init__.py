"""Players of the club and opponents: a nickname or code, and playing facts.

Not here: what is believed of an opponent (tacticapi.api.dossier), erasing (tacticapi.service.erasure).
Next: `routes`, `schemas`.
"""
