"""What the service counts about itself, for Prometheus.

Next: `counts` (what is counted), `routes` (GET /metrics and who may read it), `slots` (counting over all workers).
"""
