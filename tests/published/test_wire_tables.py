"""Wire against the published rule and tables, and the bundled copies of both.

ASTM B258: diameters of American gauges form a geometric series from 0.4600 in (gauge 0000) to
0.0050 in (gauge 36), 39 steps apart. IEC 60317-0-1: nominal resistances, from memory, reproduced by
58.5 m/(Ω mm²). Copper: 1.7241e-8 Ωm and 0.00393 per kelvin at 20 °C (NBS Handbook 100, IEC 60028).
"""

import pytest

from heelstamp.electrics.temperature import ALPHA_20
from heelstamp.electrics.winding import awg_diameter_mm, copper_ohm_per_m, winding_ohm_per_m
from heelstamp.reference.tables import load


def test_the_two_ends_of_the_series_of_gauges() -> None:
    assert awg_diameter_mm(36) == pytest.approx(0.0050 * 25.4, rel=1e-12)
    assert awg_diameter_mm(-3) == pytest.approx(0.4600 * 25.4, rel=1e-12)


@pytest.mark.parametrize("row", load("wire_awg"), ids=lambda row: row["awg"])
def test_american_gauges(row: dict[str, str]) -> None:
    rule = float(row["d_rule_mm"])
    assert awg_diameter_mm(int(row["awg"])) == pytest.approx(rule, abs=6e-7)
    for diameter, ohms in (("d_rule_mm", "ohm_per_m_rule"), ("d_table_mm", "ohm_per_m_table")):
        expected = float(row[ohms])
        # diameters are printed to five decimals of a millimetre
        assert copper_ohm_per_m(float(row[diameter])) == pytest.approx(expected, rel=3e-4)


@pytest.mark.parametrize("row", load("wire_iec"), ids=lambda row: row["d_mm"])
def test_metric_winding_wire(row: dict[str, str]) -> None:
    ohms = winding_ohm_per_m(float(row["d_mm"]))
    assert ohms == pytest.approx(float(row["ohm_per_m_nominal"]), rel=6e-4)
    assert ohms == pytest.approx(float(row["ohm_per_m_computed"]), rel=6e-5)


def test_copper() -> None:
    """One metre of 1 mm² has 0.017241 Ω; 58.0 m/(Ω mm²) is the same standard, inverted."""
    assert copper_ohm_per_m(2 * (1 / 3.141592653589793) ** 0.5) == pytest.approx(0.017241)
    assert pytest.approx(58.0, abs=0.005) == 1 / 0.017241
    assert ALPHA_20 == 0.00393
