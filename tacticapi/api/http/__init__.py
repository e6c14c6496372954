"""Parts that all resources share: fields, access, bodies, paging, versions, problems, limits, logs and workers."""
