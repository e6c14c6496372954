"""The heat index against the chart of the US National Weather Service.

The chart was read as it is reprinted on rfcafe.com ("derived from NOAA") and, for 40 to 80 %, in a newspaper's weather
column; both give the same figures. The regression was read on nws.noaa.gov (definition of the heat index).
"""

import pytest

from tacticapi.rulebook.circumstances import heat_index

CHART = {
    100: "109 114 118 124 129 136",
    98: "105 109 113 117 123 128 134",
    96: "101 104 108 112 116 121 126 132",
    94: "97 100 102 106 110 114 119 124 129 136",
    92: "94 96 99 101 105 108 112 116 121 126 131",
    90: "91 93 95 97 100 103 106 109 113 117 122 127 132",
    88: "88 89 91 93 95 98 100 103 106 110 113 117 121",
    86: "85 87 88 89 91 93 95 97 100 102 105 108 112",
    84: "83 84 85 86 88 89 90 92 94 96 98 100 103",
    82: "81 82 83 84 84 85 86 88 89 90 91 93 95",
}
"""Air in °F, and the heat index in °F at 40, 45, 50 ... % of relative humidity."""


@pytest.mark.parametrize("air", CHART)
def test_the_heat_index_is_that_of_the_chart(air):
    """The chart is in whole degrees; a few of its cells were rounded the other way, none is off by a whole degree."""
    told = [int(cell) for cell in CHART[air].split()]
    ours = [heat_index((air - 32) * 5 / 9, 40 + 5 * n) * 9 / 5 + 32 for n in range(len(told))]
    assert ours == pytest.approx(told, abs=0.95)


@pytest.mark.parametrize("air_c", [-10.0, 0.0, 20.0, 26.9])
def test_where_the_regression_does_not_hold_the_air_is_taken(air_c):
    assert [heat_index(air_c, humidity) for humidity in (0, 50, 100)] == [air_c] * 3
