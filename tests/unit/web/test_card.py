"""The text of a card is as large as can be, and no larger."""

from itertools import pairwise

from tacticapi.api.card import HEIGHT_MM, SIZES_PT, height_mm, size_pt
from tacticapi.club.card import GENERAL

LINE = "Send about two neutral balls in three to the weaker wing, deep, with the odd wide one."


def test_little_text_is_large_and_much_text_is_small():
    sizes = [size_pt([LINE] * count, 33.0) for count in (3, 9, 12, 15)]
    assert sizes[0] == SIZES_PT[0]
    assert all(more > less for more, less in pairwise(sizes))


def test_the_largest_size_that_fits_is_taken():
    for count in range(1, 30):
        size = size_pt([LINE] * count, 33.0)
        assert height_mm([LINE] * count, size) + 33.0 <= HEIGHT_MM
        larger = [one for one in SIZES_PT if one > size]
        assert not larger or height_mm([LINE] * count, larger[-1]) + 33.0 > HEIGHT_MM


def test_what_suits_everybody_is_in_the_rulebook_and_takes_no_skill(rulebook):
    assert set(GENERAL) <= rulebook.tactics.keys()
    assert all(not rulebook.tactics[name].needs and rulebook.tactics[name].risk == "low" for name in GENERAL)
