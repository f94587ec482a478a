from enum import IntEnum

class Censoring(IntEnum):
    exact = 0
    above = 1
    below = 2
    overload = 3

class Finding(IntEnum):
    no_limit_applies = 0
    contact_not_shown = 1
    open_contactor_suspected = 2
    wrong_function_suspected = 3
    copied_suspected = 4
    source_check_missing = 5
    null_below_zero = 6
    whole_vehicle_minimum = 7
    out_of_calibration_date = 8
    at_reduced_voltage = 9
    test_voltage_too_low = 10
    test_current_too_low = 11
    can_not_show_more = 12
    ratio_times_missing = 13
    unit_slip_suspected = 14
    object_mistyped_suspected = 15
    ceiling_as_number_suspected = 16
    monitor_connected_suspected = 17
    null_not_taken_suspected = 18
    meter_drift_suspected = 19
    unlike_its_like = 20
    temperature_assumed = 21
    temperature_uncertainty_assumed = 22
    law_uncertainty_assumed = 23
    outside_fitted_range = 24
    no_law_for_reference = 25
    corrected = 26
    instrument_missing = 27
    sheet_missing = 28
    outside_sheet_range = 29
    test_voltage_missing = 30
    ceiling_unknown = 31
    in_doubt = 32
    stricter_of_two = 33
    null_missing = 34
    rest_time_missing = 35
    type_missing = 36
    pair_not_examined = 37
    being_charged = 38
    loading_corrected = 39
    above_5_gigaohm = 40
    poles_joined = 41
    surface_below_dew_point = 42
    repeat_combined = 43
    superseded = 44
    ambient_outside_reference = 45
    leakage_of_leads_suspected = 46
    not_settled = 47
    imbalance = 48
    wrong_test_voltage_suspected = 49
    ratio_above_attainable = 50
    ratio_alone = 51
    meter_drift_tolerated = 52
    pair_not_named = 53

class QuantityKind(IntEnum):
    insulation_resistance = 0
    insulation_ratio = 1
    bonding_resistance = 2
    winding_resistance = 3
    dc_voltage = 4
    ac_voltage = 5
    resting_voltage = 6
    module_voltage = 7
    capacitance = 8
    temperature = 9
    loop_resistance = 10

class Status(IntEnum):
    sound = 0
    outside_fitted_range = 1
    bound_only = 2
    few_points = 3
    assumed_input = 4
    at_reduced_voltage = 5
    not_converged = 6
    interval_scaled = 7
    wide = 8
    several_modes = 9
    drift_present = 10
    run_cut = 11
    missing_input = -1
    out_of_domain = -2
    no_law = -3
    ambiguous_text = -4
    unreadable_text = -5
    unknown_bound = -6
    too_few_points = -7
    outside_table = -8
    inside_noise = -9
    no_solution = -10
    outside_curve = -11
    contradiction = -12
    not_applicable = -13
    below_smallest = -14
    not_configured = -15
    record_damaged = -16

class InvalidParameter(ValueError): ...
class UnreadableInput(ValueError): ...

finding_table: tuple[tuple[str, bool, str], ...]  # name, can hide a bad part, text
quantity_kind_table: tuple[tuple[str, str, bool], ...]  # name, unit, on a log scale

def status_text(number: int) -> str: ...
