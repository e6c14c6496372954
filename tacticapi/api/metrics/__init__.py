"""What the service counts about itself, for Prometheus.

Not here: whether the process can answer (tacticapi.api.health), log lines (tacticapi.api.logs).
Next: `counts` (what is counted), `routes` (GET /metrics and who may read it), `slots` (counting over all workers).
"""
