"""What tells about the service itself: the contract as data, the reference page, types of problem, the API catalogue.

Not here: how the contract is made (tacticapi.api.contract).
Next: `routes`, `page` (the contract as a page that asks for nothing from outside).
"""
