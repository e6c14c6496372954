"""What cuts across the resources: fields, who asks, bodies, pages, versions, problems, limits, logs, workers."""
