"""What cuts across the resources: fields, who asks, bodies, pages, versions, problems, limits, logs, counts, workers.

Not here: any resource; nothing in this folder imports one. Next: `blueprint` (what every route has), `problems` (the
one error shape), `bodies` (what is read), `fields` (what is described), `middleware` (what every request passes).
"""
