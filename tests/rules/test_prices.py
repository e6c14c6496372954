"""What a tactic is worth is said once, in its price."""


def test_of_a_tactic_with_a_price_only_the_price_says_how_weak_is_weak_enough(entries):
    """A weakness in `when` is open as soon as something seen raised it; a mark there would decide a second time."""
    marked = [
        (name, condition)
        for name, entry in entries.by_kind["tactics"].items()
        if "price" in entry.data
        for alternative in entry.data["when"]
        for condition in alternative["all"]
        if "belief" in condition and condition.get("level") != "open"
    ]
    assert marked == []
