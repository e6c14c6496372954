"""Pictures of a match under way: the win chance, what is believed and why, where the opponent serves.

Not here: how a picture is drawn (tacticapi.pictures), what it shows (tacticapi.club.debrief).
Next: `routes`, `drawn` (the answer around a picture).
"""
