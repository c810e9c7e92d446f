"""Which test holds each public function of calculations/ and rules/ against something outside it, and against what.

A function without an entry fails tests/inspections/test_every_function_is_sourced.py. `through` names what the test
calls, where it reaches the function by another one. Where no document settles a thing, `against` says so: another
library, plain counting, or common practice with no published source.
"""

from typing import NamedTuple


class Check(NamedTuple):
    """path and test: where the check is; against: what stands on the other side; through: what it calls instead."""

    path: str
    test: str
    against: str
    through: str = ""


def _checks(prefix: str, path: str, *rows: tuple[str, ...]) -> dict[str, Check]:
    return {f"{prefix}.{name}": Check(path, test, *rest) for name, test, *rest in rows}


PUBLISHED = "tests/published"
CALCULATIONS = "tests/inspections/calculations"
RULES = "tests/inspections/rules"

_CONDUCTORS = (
    _checks(
        "calculations.conductors",
        f"{PUBLISHED}/test_conductors.py",
        (
            "conductor_ohm",
            "test_it_lies_just_below_the_greatest_permitted_resistance_of_copper",
            "IEC 60228:2004",
        ),
        (
            "gauge_number",
            "test_it_follows_the_wire_gauge",
            "law of the American wire gauge",
            "gauge_diameter_m",
        ),
        ("gauge_diameter_m", "test_it_follows_the_wire_gauge", "law of the American wire gauge"),
        ("gauge_section_m2", "test_it_follows_the_wire_gauge", "law of the American wire gauge"),
    )
    | _checks(
        "calculations.conductors",
        f"{PUBLISHED}/test_conductor_parts.py",
        ("series_ohm", "test_it_adds_each_part_by_its_own_coefficient", "IEC 60228's exact forms"),
        ("series_factor", "test_it_adds_each_part_by_its_own_coefficient", "IEC 60228's exact forms"),
        (
            "floor_and_ceiling_ohm",
            "test_it_puts_a_sixty_metre_down_conductor_between_11_and_27_6_milliohm",
            "common practice, no published source",
        ),
        (
            "section_shortfall_m2",
            "test_it_falls_short_of_the_published_least_section_by_the_difference",
            "IEC 62305-3:2010 (from memory)",
        ),
    )
    | _checks(
        "calculations.temperature",
        f"{PUBLISHED}/test_temperature.py",
        ("correction", "test_it_agrees_with_the_exact_forms_for_copper_and_aluminium", "IEC 60228's factors"),
        (
            "correct_resistance_ohm",
            "test_it_reproduces_copper_multiplying_factors_from_25_degrees",
            "factors as reproduced",
        ),
        ("alpha_at_per_k", "test_it_carries_a_coefficient_to_another_temperature", "NBS table, NEC note"),
    )
    | _checks(
        "calculations.temperature",
        f"{RULES}/test_judging_uncertainty.py",
        (
            "temperature_half_width_ohm",
            "test_it_agrees_with_the_uncertainties_library_on_a_corrected_value",
            "the uncertainties library",
            "judged",
        ),
    )
)

_STATISTICS = (
    _checks(
        "calculations.conformity",
        f"{PUBLISHED}/test_conformity.py",
        ("normal_below", "test_it_gives_the_normal_distribution_far_into_its_tail", "scipy"),
        ("conformity_probability", "test_it_gives_the_two_sided_example", "JCGM 106:2012 (seen)"),
        (
            "global_risks",
            "test_it_gives_the_global_risks_of_resistors",
            "JCGM 106:2012's example, integrated again",
        ),
    )
    | _checks(
        "calculations.uncertainty",
        f"{PUBLISHED}/test_uncertainty.py",
        ("rectangular", "test_it_takes_a_digital_voltmeters_bound_as_rectangular", "JCGM 100:2008 4.3.7"),
        ("resolution", "test_it_takes_a_digital_step_as_0_28868_of_itself", "JCGM 100:2008 F.2.2"),
        (
            "standard_deviation_of_mean",
            "test_it_evaluates_twenty_temperatures_as_the_gum_does",
            "JCGM 100:2008 4.4.3",
        ),
        ("root_sum_square", "test_it_takes_a_digital_voltmeters_bound_as_rectangular", "JCGM 100:2008 5.1.5"),
        ("combine", "test_it_takes_sixteen_degrees_of_freedom_to_the_gums_t", "JCGM 100:2008 H.1"),
        ("student_t_95", "test_it_gives_the_tabulated_t", "JCGM 100:2008 Table G.2, scipy"),
    )
    | _checks(
        "calculations.uncertainty",
        f"{PUBLISHED}/test_uncertainty_correlated.py",
        ("triangular", "test_it_divides_triangular_bounds_by_the_root_of_six", "JCGM 100:2008 4.4.6"),
        ("from_expanded", "test_it_takes_a_certificates_u_by_its_own_factor", "JCGM 100:2008 4.3"),
        (
            "operating_standard_ohm",
            "test_it_enters_an_operating_uncertainty_as_a_rectangular_bound",
            "IEC 61557 (from memory)",
        ),
        (
            "effective_degrees",
            "test_it_keeps_four_degrees_of_freedom_for_five_simultaneous_observations",
            "JCGM 100:2008 H.2",
        ),
        ("correlation", "test_it_gives_the_correlations_of_the_gums_results", "JCGM 100:2008 H.2 (seen)"),
        ("covariance", "test_it_gives_the_correlations_of_the_gums_results", "JCGM 100:2008 H.2 (seen)"),
        (
            "combine_correlated",
            "test_it_gives_resistance_reactance_and_impedance_of_the_gum",
            "JCGM 100:2008 H.2 (seen)",
        ),
    )
    | _checks(
        "calculations.trend",
        f"{PUBLISHED}/test_trend.py",
        ("median", "test_it_takes_the_middle", "definition"),
        (
            "drift",
            "test_it_gives_the_textbooks_slope_intercept_and_interval",
            "Hollander, Wolfe and Chicken, scipy",
        ),
        (
            "pairwise_slopes",
            "test_it_lists_the_slopes_of_the_textbook",
            "Hollander, Wolfe and Chicken, Ex. 9.1",
        ),
        (
            "kendall_s",
            "test_it_tests_exactly_as_the_textbook_does",
            "Hollander, Wolfe and Chicken, Ex. 8.1, 9.1",
        ),
        (
            "kendall_p_two_sided",
            "test_it_tests_exactly_as_the_textbook_does",
            "Hollander, Wolfe and Chicken, Ex. 8.1, 9.1",
        ),
        (
            "is_exact",
            "test_it_tests_exactly_as_the_textbook_does",
            "Hollander, Wolfe and Chicken, Ex. 8.1, 9.1",
        ),
        ("kendall_variance", "test_it_handles_ties_over_a_hundred_years_of_the_nile", "R's dataset Nile"),
        ("orders_by_inversions", "test_it_counts_the_orders_one_by_one", "counting"),
        (
            "exact_p_two_sided",
            "test_it_has_the_critical_values_of_the_exact_distribution",
            "critical values computed elsewhere",
        ),
    )
    | _checks(
        "calculations.forecast",
        f"{PUBLISHED}/test_trend.py",
        (
            "day_above_limit",
            "test_it_meets_the_limit_where_the_textbooks_line_does",
            "Helsel and Hirsch, scipy",
        ),
        ("since_last_repair", "test_it_begins_anew_at_a_repair", "common practice, no published source"),
    )
)

_SOIL_AND_EARTHS = (
    _checks(
        "calculations.soil",
        f"{PUBLISHED}/test_soil.py",
        ("wenner_resistivity_ohm_m", "test_it_reckons_the_pins_depth_as_ieee_81_does", "IEEE Std 81-2012"),
        ("wenner_depth_divisor", "test_it_reckons_the_pins_depth_as_ieee_81_does", "IEEE Std 81-2012"),
        (
            "reflection_factor",
            "test_it_reflects_by_the_difference_over_the_sum",
            "method of images, textbook",
        ),
        ("two_layer_apparent_ohm_m", "test_it_sums_the_image_series", "pyGIMLi, SimPEG, Hankel's integral"),
        ("image_sum", "test_it_has_reached_the_end_of_its_sum", "the series added up the long way"),
    )
    | _checks(
        "calculations.soil",
        f"{CALCULATIONS}/test_soil.py",
        (
            "require_positive",
            "test_it_refuses_what_no_soil_can_be",
            "nature: no length, resistance or resistivity is zero or below",
            "wenner_resistivity_ohm_m",
        ),
    )
    | _checks(
        "calculations.soil_layers",
        f"{PUBLISHED}/test_soil.py",
        (
            "fit_two_layers",
            "test_it_fits_the_published_field_series_better_than_its_published_model",
            "Seedher and Arora 1992 (from memory), least squares computed elsewhere",
        ),
    )
    | _checks(
        "calculations.electrodes",
        f"{PUBLISHED}/test_electrodes.py",
        ("rod_ohm", "test_it_gives_dwights_rod", "Dwight 1936, mean potential by scipy"),
        ("plate_ohm", "test_it_gives_a_plate_as_webers_disc_at_the_surface", "Weber's disc"),
        (
            "strip_ohm",
            "test_it_gives_dwights_straight_conductor_and_bs_7430s_shorter_form",
            "Dwight 1936, mean potential by scipy",
        ),
        (
            "strip_short_form_ohm",
            "test_it_gives_dwights_straight_conductor_and_bs_7430s_shorter_form",
            "BS 7430 (from memory)",
        ),
        ("ring_ohm", "test_it_gives_dwights_ring", "Dwight 1936, mean potential by scipy"),
    )
    | _checks(
        "calculations.rods_together",
        f"{PUBLISHED}/test_electrodes.py",
        ("parallel_ohm", "test_it_joins_48_and_52_ohm_to_24_96", "Kirchhoff's laws"),
        (
            "whole_against_parts",
            "test_it_asks_where_the_whole_lies_more_than_an_operating_uncertainty_from_its_parts",
            "IEC 61557's 30 % (from memory)",
        ),
        (
            "single_limit_ohm",
            "test_it_allows_n_times_the_whole_because_n_equal_ones_side_by_side_come_to_one_nth",
            "Kirchhoff's laws; the rule itself is common practice",
        ),
        ("line_of_rods", "test_it_gives_bs_7430s_factor_for_a_line_of_rods", "BS 7430 (from memory)"),
        (
            "hollow_square_of_rods",
            "test_it_gives_bs_7430s_factor_for_a_hollow_square_of_rods",
            "BS 7430 (from memory)",
        ),
        (
            "interaction_factor",
            "test_it_gives_bs_7430s_factor_for_a_hollow_square_of_rods",
            "BS 7430 (from memory)",
        ),
        ("rods_apart_ohm", "test_it_gives_three_rods_in_a_triangle", "BS 7430"),
        (
            "mutual_rods_ohm",
            "test_it_lifts_a_neighbour_as_the_mean_potential_does",
            "mean potential by scipy",
        ),
        ("rods_close_ohm", "test_it_lies_by_ieee_142s_factors", "IEEE Std 142-1991 (as reproduced)"),
    )
    | _checks(
        "calculations.earth_tests",
        f"{PUBLISHED}/test_earth_tests.py",
        ("potential_probe_m", "test_it_places_the_potential_probe_at_61_8_percent", "MIL-HDBK-419A's frame"),
        ("plateau", "test_it_tells_a_plateau_from_a_slope", "common practice, no published source"),
        ("slope_coefficient", "test_it_takes_mu_from_three_readings", "Tagg 1970"),
        ("slope_place", "test_it_gives_taggs_table", "Tagg 1970, recomputed"),
        ("three_points", "test_it_solves_three_electrodes_from_their_pairs", "IEEE Std 81 (from memory)"),
        (
            "loop_ohm",
            "test_it_reads_two_rods_as_their_sum_and_many_as_little_more_than_one",
            "Kirchhoff's laws",
        ),
        (
            "suggests_metal_loop",
            "test_it_suspects_a_metal_loop_below_one_ohm",
            "common practice, no published source",
        ),
    )
)

_DISPLAYS_AND_UNITS = (
    _checks(
        "calculations.display",
        f"{CALCULATIONS}/test_display.py",
        ("parse_display", "test_it_reads_displays_that_show_no_number", "common practice of displays"),
        ("parse_number", "test_it_reads_numbers", "decimal notation", "parse_display"),
        ("step_decimals", "test_it_knows_how_many_decimals_a_step_shows", "decimal notation"),
    )
    | _checks(
        "calculations.printing",
        "tests/inspections/test_quantities.py",
        ("plain", "test_it_prints_resistances_as_people_read_them", "SI Brochure", "format_resistance"),
        (
            "resistance_unit",
            "test_it_prints_resistances_as_people_read_them",
            "SI prefixes",
            "format_resistance",
        ),
        ("resistance", "test_it_prints_resistances_as_people_read_them", "SI Brochure", "format_resistance"),
    )
    | _checks(
        "calculations.units",
        "tests/inspections/test_quantities.py",
        ("one_spelling", "test_it_prints_one_spelling_of_ohm_and_of_micro", "Unicode", "parse_unit"),
        ("preferred_unit", "test_it_keeps_milli_and_mega_apart", "SI Brochure", "parse_quantity"),
        ("factor_to_si", "test_it_hands_quantities_to_pint_and_takes_them_back_exactly", "pint", "as_pint"),
        ("parse_si", "test_it_hands_quantities_to_pint_and_takes_them_back_exactly", "pint", "as_pint"),
    )
    | _checks(
        "calculations.reversal",
        f"{CALCULATIONS}/test_reversal_and_spread.py",
        ("reverse", "test_it_takes_a_thermal_voltage_out_of_a_bond", "V± = ±IR + E (common practice)"),
        ("reverse_three", "test_it_takes_an_evenly_drifting_offset_out_in_three_steps", "V± = ±IR + E"),
        ("keeps_no_sign", "test_it_notices_a_display_that_keeps_no_sign", "common practice"),
    )
    | _checks(
        "calculations.spread",
        f"{CALCULATIONS}/test_reversal_and_spread.py",
        (
            "spread_percent",
            "test_it_measures_spread_by_the_greatest_deviation_from_the_mean",
            "common practice",
        ),
        ("exceeds_spread", "test_it_compares_a_spread_at_the_very_edge_exactly", "common practice"),
    )
    | _checks(
        "calculations.spread",
        f"{PUBLISHED}/test_uncertainty.py",
        ("mean", "test_it_evaluates_twenty_temperatures_as_the_gum_does", "JCGM 100:2008 4.4.3"),
    )
)

_DUE_DATES = (
    _checks(
        "rules.due_dates.calendar_arithmetic",
        f"{RULES}/test_due_dates_calendar.py",
        ("add_months", "test_it_counts_months_as_relativedelta_does", "python-dateutil"),
        ("add_days", "test_it_says_so_when_a_day_leaves_the_calendar", "the calendar's own end"),
        (
            "last_day_of_month",
            "test_it_finds_the_month_end_as_relativedelta_does",
            "python-dateutil",
            "month_end_after",
        ),
        ("month_end_after", "test_it_finds_the_month_end_as_relativedelta_does", "python-dateutil"),
        ("local_day", "test_it_takes_the_day_of_an_instant_in_the_zone_not_in_utc", "IANA zone database"),
        ("in_words", "test_it_writes_a_day_in_words", "common practice"),
        ("period_index", "test_it_puts_each_day_into_the_period_that_ends_next", "python-dateutil"),
        ("period_end", "test_it_puts_each_day_into_the_period_that_ends_next", "python-dateutil"),
        ("season_in_order", "test_it_orders_a_seasons_months_as_they_pass", "the calendar"),
    )
    | _checks(
        "rules.due_dates",
        f"{PUBLISHED}/test_intervals.py",
        (
            "engine.obligations",
            "test_iec_62305_3_2010_table_e_2_gives_each_class_its_days",
            "IEC 62305-3:2010 Table E.2 (as reproduced)",
        ),
        (
            "intervals.asked_by_rule",
            "test_each_published_row_agrees_with_dateutil",
            "published intervals, python-dateutil",
            "obligations",
        ),
        (
            "coverage.satisfying",
            "test_iec_62305_3_2010_explosion_risk_is_looked_at_in_six_months_and_tested_in_twelve",
            "IEC 62305-3:2010 (as reproduced)",
            "obligations",
        ),
        (
            "standing.state_on",
            "test_us_army_mm4673_a_test_older_than_14_months_is_overdue",
            "US Army guidance (seen)",
            "obligations",
        ),
        ("facts.given", "test_each_published_row_agrees_with_dateutil", "python-dateutil", "obligations"),
    )
    | _checks(
        "rules.due_dates",
        f"{RULES}/test_due_dates_properties.py",
        ("bases.due_from", "test_rolling_agrees_with_dateutil", "python-dateutil", "obligations"),
    )
    | _checks(
        "rules.reminding",
        f"{RULES}/test_reminding.py",
        ("telling", "test_it_tells", "the calendar, counted by hand"),
    )
    | _checks(
        "rules.due_dates",
        f"{RULES}/test_due_dates_windows.py",
        (
            "windows.opens",
            "test_it_opens_on_its_day",
            "the calendar, counted by hand",
        ),
    )
    | _checks(
        "rules.due_dates",
        f"{RULES}/test_due_dates_following.py",
        (
            "following.following",
            "test_rolling_goes_on_as_dateutil_counts",
            "python-dateutil, and the calendar counted by hand",
        ),
    )
    | _checks(
        "rules.due_dates",
        f"{RULES}/test_due_dates_sums.py",
        (
            "asking.days_met",
            "test_a_rule_says_what_it_counted_from_and_the_sum",
            "counting by hand",
            "met_on",
        ),
        (
            "asking.last_left_on",
            "test_points_left_out_name_the_visit_they_are_counted_from_and_the_one_that_left_them",
            "counting by hand",
            "left_on",
        ),
    )
    | _checks(
        "rules.due_dates",
        f"{RULES}/test_due_dates_coverage.py",
        (
            "coverage.histories",
            "test_part_done_visits_together_may_cover_every_point",
            "counting by hand",
            "obligations",
        ),
        (
            "asking.what_is_left",
            "test_points_that_a_part_done_visit_left_keep_the_old_due_day",
            "counting by hand",
            "obligations",
        ),
        (
            "asking.left_out",
            "test_many_left_points_are_counted_in_the_sentence_not_listed",
            "counting by hand",
            "obligations",
        ),
    )
    | _checks(
        "rules.due_dates",
        f"{RULES}/test_due_dates_events.py",
        (
            "events.asked_by_event",
            "test_a_strike_forty_days_ago_with_seven_allowed_is_born_overdue",
            "counting by hand; inspection after a strike is common practice",
            "obligations",
        ),
        ("events.within", "test_how_soon_is_said_in_words", "plain English", "within"),
    )
    | _checks(
        "rules.due_dates",
        f"{RULES}/test_due_dates_suspension.py",
        (
            "suspension.working_windows",
            "test_a_suspension_in_time_shows_nothing_overdue_on_both_its_end_days",
            "counting by hand",
            "obligations",
        ),
        (
            "suspension.asked_on_return",
            "test_afterwards_an_inspection_on_return_is_due_the_day_after",
            "counting by hand",
            "obligations",
        ),
        (
            "standing.suspended_since",
            "test_adjoining_suspensions_make_one_stretch",
            "counting by hand",
        ),
    )
    | _checks(
        "rules.due_dates",
        f"{RULES}/test_due_dates_editions.py",
        (
            "intervals.latest_dispensations",
            "test_the_dispensation_that_reaches_furthest_counts_and_one_not_yet_known_does_not",
            "counting by hand",
            "obligations",
        ),
    )
)

_JUDGING = (
    _checks(
        "rules.judging",
        f"{PUBLISHED}/test_verdict.py",
        (
            "chain.judge",
            "test_it_makes_the_non_binary_statement_of_ilac_g8",
            "ILAC-G8:09/2019 4.2.3",
            "judged",
        ),
        (
            "decision.decision",
            "test_it_accepts_wrongly_in_fewer_than_2_5_percent_with_the_guard_band_of_ilac_g8",
            "ILAC-G8:09/2019 4.2.2, scipy",
            "judged",
        ),
        (
            "reversal_and_null.reversal",
            "test_it_takes_a_thermal_voltage_out_by_reversing_the_current",
            "standard practice, computed",
            "judged",
        ),
        (
            "temperature.temperature",
            "test_it_moves_a_copper_bond_by_15_7_percent_from_winter_to_summer",
            "IACS coefficient (seen)",
            "judged",
        ),
    )
    | _checks(
        "rules.judging",
        f"{RULES}/test_judging_uncertainty.py",
        (
            "uncertainty.uncertainty",
            "test_it_agrees_with_the_uncertainties_library_on_a_corrected_value",
            "the uncertainties library",
            "judged",
        ),
        (
            "range_and_unit.accuracy_half_width_ohm",
            "test_it_makes_one_rectangular_half_width_of_percent_and_digits",
            "how makers state accuracy, JCGM 100:2008",
            "judged",
        ),
    )
    | _checks(
        "rules.judging",
        f"{RULES}/test_judging_lines.py",
        (
            "range_and_unit.accuracy_text",
            "test_it_prints_sums_that_recompute_by_hand",
            "arithmetic of the printed line",
            "judged",
        ),
        (
            "state.day_text",
            "test_it_shows_days_with_the_month_in_letters_and_a_no_break_space_before_units",
            "common practice: no day can be misread",
            "judged",
        ),
    )
    | _checks(
        "rules.judging",
        f"{RULES}/test_judging_fitness.py",
        (
            "fitness.present",
            "test_it_is_no_reading_when_the_display_showed_nothing",
            "common practice: blank is never a value",
            "judged",
        ),
        (
            "fitness.calibration",
            "test_it_takes_both_end_days_of_a_calibration_as_valid",
            "common practice, no published source",
            "judged",
        ),
        (
            "fitness.method",
            "test_it_cannot_judge_a_method_the_rule_does_not_name",
            "common practice: the method belongs to the limit",
            "judged",
        ),
        (
            "fitness.current",
            "test_it_wants_at_least_the_rules_current",
            "common practice: the current belongs to the limit",
            "judged",
        ),
        (
            "fitness.limit_in_force",
            "test_it_names_the_rules_author_and_edition_in_the_limits_line",
            "ISO/IEC 17025:2017 7.1.3: the rule is agreed beforehand and named",
            "judged",
        ),
    )
    | _checks(
        "rules.judging",
        f"{RULES}/test_judging_displays.py",
        (
            "range_and_unit.range_and_step",
            "test_it_lets_the_accuracy_bound_decide_where_the_range_cannot_resolve_the_limit",
            "arithmetic by hand (common practice)",
            "judged",
        ),
        (
            "range_and_unit.over_bound_ohm",
            "test_it_believes_a_lower_bound_on_the_display_over_the_ranges_top",
            "common practice",
            "judged",
        ),
        ("range_and_unit.unit", "test_it_takes_the_unit_that_was_written", "SI prefixes", "judged"),
        (
            "range_and_unit.ask_decimals",
            "test_it_asks_about_decimals_that_differ_from_the_steps",
            "decimal notation",
            "judged",
        ),
        (
            "repeats.repeats",
            "test_it_takes_the_mean_of_the_repeats",
            "JCGM 100:2008, mean of observations",
            "judged",
        ),
        (
            "reversal_and_null.null",
            "test_it_cannot_judge_a_value_below_zero_and_never_clamps_it",
            "nature: no resistance is below zero",
            "judged",
        ),
    )
    | _checks(
        "rules.judging",
        f"{RULES}/test_judging_change.py",
        (
            "change.change",
            "test_it_is_steady_at_the_very_edge",
            "JCGM 100:2008, difference of two values",
            "judged",
        ),
        (
            "change.earlier_readings",
            "test_it_leaves_out_what_came_after_the_reading",
            "the order of days",
            "judged",
        ),
        (
            "change.last",
            "test_it_takes_the_last_like_reading_in_any_order_of_the_history",
            "the order of days",
            "judged",
        ),
        (
            "change.last_like",
            "test_it_takes_the_last_like_reading_in_any_order_of_the_history",
            "common practice: like for like",
            "judged",
        ),
    )
    | _checks(
        "rules.judging",
        f"{RULES}/test_judging_questions.py",
        (
            "plausibility.plausibility",
            "test_it_finds_a_sixty_metre_down_conductor_too_good_to_be_true",
            "R = ρ L / A with IACS copper",
            "judged",
        ),
    )
)

_QUESTIONS = _checks(
    "rules.questions",
    f"{RULES}/test_questions.py",
    (
        "visit_questions",
        "test_it_asks_about_last_digits_by_pearsons_chi_square",
        "scipy.stats.chisquare and chi2; the other thresholds are common practice, no published source",
    ),
)

_PLANNING = _checks(
    "rules.bring_forward",
    f"{RULES}/test_bring_forward.py",
    (
        "bring_forward",
        "test_it_takes_a_peak_to_the_nearest_weeks_with_room_as_counted_by_hand",
        "plain counting; common practice, no published source",
    ),
    (
        "monday_of",
        "test_no_proposal_lies_outside_its_window_nor_in_the_past_and_the_sum_is_kept",
        "ISO 8601: a week begins on Monday",
    ),
)

_DEFECTS = _checks(
    "rules.defects",
    f"{RULES}/test_defects.py",
    (
        "standing",
        "test_it_goes_from_made_safe_through_repair_to_its_retest",
        "common practice, no published source: no defect closes without a re-test or the owner's acceptance",
    ),
    ("age_days", "test_its_age_grows_until_it_is_settled", "plain counting of days"),
)

_RULE_CHANGES = _checks(
    "rules.interval_change",
    f"{RULES}/test_interval_change.py",
    (
        "longer",
        "test_what_lets_more_time_pass_is_named",
        "plain comparison; common practice, no published source",
    ),
    (
        "changes",
        "test_whatever_decides_when_or_where_it_is_due_is_a_change",
        "plain comparison; common practice, no published source",
    ),
    ("nominal_months", "test_a_share_of_the_year_counts_as_its_months", "twelve months a year"),
    (
        "names_only_want_of_means",
        "test_want_of_staff_or_money_alone_is_no_reason",
        "common practice, no published source: want of staff or money is no ground for a longer interval",
    ),
)

_SEASONS = _checks(
    "rules.season_cycles",
    f"{RULES}/test_season_cycles.py",
    (
        "reach",
        "test_walking_through_the_calendar_meets_the_same_months_in_the_same_time",
        "walking the calendar",
    ),
    ("months_met", "test_each_row_of_the_table_is_reckoned", "arithmetic of months modulo twelve"),
    (
        "months_to_meet_them_all",
        "test_walking_through_the_calendar_meets_the_same_months_in_the_same_time",
        "walking through the calendar",
    ),
    ("strictest", "test_the_strictest_is_the_shortest_interval_that_names_months", "plain comparison"),
    ("in_words", "test_an_eleven_month_cycle_goes_backwards_through_the_year", "the calendar"),
)

CHECKS: dict[str, Check] = (
    _CONDUCTORS
    | _STATISTICS
    | _SOIL_AND_EARTHS
    | _DISPLAYS_AND_UNITS
    | _DUE_DATES
    | _JUDGING
    | _QUESTIONS
    | _PLANNING
    | _DEFECTS
    | _RULE_CHANGES
    | _SEASONS
)
