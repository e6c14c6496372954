"""The shape of tries."""

from tacticapi.api.entries import EntrySchema, LinksSchema, as_posted
from tacticapi.api.fields import Text, Whole
from tacticapi.api.paging import page_schema
from tacticapi.api.situations.parts import LONGEST_ID, PLAYED
from tacticapi.domain.situation import MOST_TRIED

_ABSENT = "Absent only where an entry is withdrawn."


class NewTriesSchema(LinksSchema):
    """A tactic tried as meant, with all three, or a withdrawal."""

    tactic = Text(LONGEST_ID, says=f"Id of the tactic; a retired id counts for what replaced it. {_ABSENT}")
    tried = Whole(0, MOST_TRIED, says=f"{PLAYED} {_ABSENT}")
    won = Whole(0, MOST_TRIED, says=f"Points won of them. {_ABSENT}")


class KeptTriesSchema(EntrySchema):
    """Tries as kept."""

    tries = as_posted("What was tried")


TriesPage = page_schema(KeptTriesSchema)
