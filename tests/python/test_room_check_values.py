"""Check values of the rooms through their Python fronts: the same files that the C++ tests run."""

import math

import pytest

from check_values import check_values
from ohmward import _core, battery, insulation, temperature


def law_of(case):
    constant, reference = case.number("constant"), case.number("reference_celsius")
    return {
        "halving": lambda: temperature.HalvingLaw(step_kelvin=constant, reference_celsius=reference),
        "arrhenius": lambda: temperature.ArrheniusLaw(
            activation_energy_electronvolt=constant, reference_celsius=reference
        ),
        "conductor": lambda: temperature.ConductorLaw(tau_kelvin=constant, reference_celsius=reference),
        "thermosetting": lambda: temperature.ThermosettingLaw(reference_celsius=reference),
        "oil": lambda: temperature.FactorTableLaw("oil_immersed", reference_celsius=reference),
        "solid": lambda: temperature.FactorTableLaw("solid", reference_celsius=reference),
        "none": lambda: temperature.Law(_core.temperature.Law(), reference),
    }[case.text("law")]()


@pytest.mark.parametrize("case", check_values("temperature_to_reference"), ids=str)
def test_temperature_to_reference(case):
    case.expect(law_of(case).to_reference(case.number("ohm"), case.number("part_celsius"), on_doubt="ignore"))


@pytest.mark.parametrize("case", check_values("insulation_attainable"), ids=str)
def test_attainable_index(case):
    case.expect(
        insulation.attainable_index(
            capacitance_farad=case.number("capacitance_farad"),
            resistance_1min_ohm=case.number("early_ohm"),
            loss_factor=case.number("loss_factor"),
        )
    )


@pytest.mark.parametrize("case", check_values("insulation_model_ratios"), ids=str)
def test_ratio_of_a_model_run(case):
    conduction, absorption, exponent = (case.number(name) for name in ("conduction", "absorption", "exponent"))
    times = [case.number("early_second"), case.number("late_second")]
    ohm = [1e9 / (conduction + absorption * (second / 60) ** -exponent) for second in times]
    run = insulation.TimedRun(
        time_second=times, resistance_ohm=ohm, test_voltage_volt=1000, relative_standard_uncertainty=0.01
    )
    case.expect(run.ratio(late_second=times[1], early_second=times[0]).value)


@pytest.mark.parametrize("case", check_values("insulation_minima"), ids=str)
def test_minima_and_test_voltages(case):
    volt, table = case.number("rated_volt"), case.text("table")
    if table == "machine":
        low, high = insulation.machine_test_voltage(volt)
        least = insulation.machine_minimum_ohm(winding="before_1970_field_or_other", rated_volt=volt)
        case.expect(high, "expected_test_high_volt")
    else:
        low, least = {"apparatus": insulation.apparatus_test, "installation": insulation.installation_test}[table](volt)
    case.expect(low, "expected_test_low_volt")
    case.expect(least)


@pytest.mark.parametrize("case", check_values("sheet"), ids=str)
def test_sheet(case):
    kind = _core.core.QuantityKind[case.text("quantity")]
    line = _core.instruments.Range()
    line.quantity = kind
    line.high = case.number("range_high")
    for name in ("display_step", "reading_percent", "counts", "range_percent"):
        setattr(line, name, case.number(name))
    meter = _core.instruments.Instrument()
    meter.id = "m"
    meter.statement = (
        _core.instruments.StatementKind(int(case.number("statement"))),
        case.number("statement_value"),
    )
    meter.ranges = [line]
    *_, parts, findings = meter.quantity(
        quantity=kind,
        value=case.number("value"),
        censoring=_core.core.Censoring.exact,
        resolution=math.nan,
        test_voltage_volt=math.nan,
        ambient_celsius=math.nan,
        decision_value=math.nan,
    )
    case.expect(math.sqrt(sum(part * part for part in parts.values())))
    assert findings == 0


@pytest.mark.parametrize("case", check_values("full_cell_voltage"), ids=str)
def test_full_cell_voltage(case):
    curve = battery.shipped_curve(case.text("curve"))
    case.expect(curve.volt(case.number("charge"), curve.reference_celsius))


@pytest.mark.parametrize("case", check_values("full_cell_simulation"), ids=str)
def test_full_cell_simulation(case):
    curve = battery.shipped_curve(case.text("curve"))
    case.expect(curve.volt(case.number("charge"), curve.reference_celsius))


IN_PYTHON = ("cell_emf_volt", "molality", "freezing_celsius", "specific_gravity_at_rest")


@pytest.mark.parametrize("case", [c for c in check_values("acid") if c.text("quantity") in IN_PYTHON], ids=str)
def test_acid(case):
    case.expect(getattr(battery, case.text("quantity"))(case.number("input")))
