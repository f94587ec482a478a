#include <gtest/gtest.h>

#include <algorithm>
#include <string>

#include "ohmward/core/errors.hpp"
#include "ohmward/readings/parse.hpp"
#include "ohmward/screening/marks.hpp"

namespace ohmward::screening {
namespace {

const std::string header =
    "object_id,object_kind,part,part_kind,quantity,value,unit,taken_at,instrument_id,test_voltage_volt,from_point,job_"
    "id,"
    "stage,reference_value,taken_by\n";

/// Rows as they are written, each of the columns of `header`.
class Written {
 public:
  Written& insulation(const std::string& object, const std::string& part, const std::string& kind,
                      const std::string& value, const std::string& unit, const std::string& day, const std::string& job,
                      const std::string& meter = "tester", const std::string& pole = "") {
    return row({object, "truck", part, kind, "insulation_resistance", value, unit, day, meter, "500", pole, job,
                "routine", "", ""});
  }
  Written& bonding(const std::string& object, const std::string& part, const std::string& value, const std::string& day,
                   const std::string& job) {
    return row({object, "truck", part, "housing", "bonding_resistance", value, "Ω", day, "low", "", "", job, "routine",
                "", ""});
  }
  Written& resting(const std::string& object, const std::string& part, const std::string& value, const std::string& day,
                   const std::string& job) {
    return row({object, "truck", part, "battery_12v", "resting_voltage", value, "V", day, "volt", "", "", job,
                "routine", "", ""});
  }
  Written& check(const std::string& quantity, const std::string& part, const std::string& value,
                 const std::string& unit, const std::string& reference, const std::string& day, const std::string& job,
                 const std::string& meter = "tester") {
    return row({"BENCH", "bench", part, "check", quantity, value, unit, day, meter, "500", "", job, "meter_check",
                reference, ""});
  }
  Written& row(const std::vector<std::string>& cells) {
    for (std::size_t i = 0; i < cells.size(); ++i) text_ += (i == 0 ? "" : ",") + cells[i];
    text_ += "\n";
    return *this;
  }
  [[nodiscard]] readings::Table table() const {
    readings::Parsed parsed = readings::parse(header + text_);
    EXPECT_TRUE(parsed.rejected.empty());
    return std::move(parsed.table);
  }

 private:
  std::string text_;
};

std::vector<Meter> meters() {
  return {
      {.id = "tester",
       .source_ampere = 1e-3,
       .ranges = {{.test_voltage_volt = 500, .high = 600e6, .display_step = 1e5, .reading_bound = 0.03, .counts = 4}}},
      {.id = "volt",
       .ranges = {{.quantity = QuantityKind::dc_voltage,
                   .high = 1000,
                   .display_step = 0.1,
                   .reading_bound = 0.01,
                   .counts = 3}}}};
}

std::vector<std::size_t> rows_with(const Marks& found, Finding finding) {
  std::vector<std::size_t> rows;
  for (std::size_t row = 0; row < found.findings.size(); ++row)
    if (Findings{found.findings[row]}.has(finding)) rows.push_back(row);
  return rows;
}
using Rows = std::vector<std::size_t>;

std::string day(int number) {  // 28 days a month keep every date real
  const int month = number / 28;
  const auto two = [](int n) { return (n < 10 ? "0" : "") + std::to_string(n); };
  return std::to_string(2023 + month / 12) + "-" + two(1 + month % 12) + "-" + two(1 + number % 28);
}
std::string truck(int number) { return "T-" + std::to_string(100 + number); }
std::string job(int number) { return "J-" + std::to_string(1000 + number); }

/// Twelve trucks, five visits, load side of about 3 MΩ; the last reading of truck 4 replaced.
readings::Table load_sides(const std::string& value, const std::string& unit) {
  Written written;
  for (int visit = 0; visit < 5; ++visit)
    for (int object = 0; object < 12; ++object) {
      const bool replaced = visit == 4 && object == 4;
      const std::string usual = std::to_string(2 + object % 3) + "." + std::to_string(20 + 7 * visit + object);
      written.insulation(truck(object), "load_side", "load_side", replaced ? value : usual, replaced ? unit : "MΩ",
                         day(100 * visit + object), job(12 * visit + object));
    }
  return written.table();
}
constexpr std::size_t replaced_row = 52;

TEST(UnitSlip, AThousandIsFoundInBothDirections) {
  EXPECT_EQ(rows_with(marks(load_sides("3.05", "GΩ"), meters()), Finding::unit_slip_suspected), Rows{replaced_row});
  EXPECT_EQ(rows_with(marks(load_sides("3.05", "kΩ"), meters()), Finding::unit_slip_suspected), Rows{replaced_row});
}

TEST(UnitSlip, ARealChangeIsNone) {
  EXPECT_EQ(rows_with(marks(load_sides("3.05", "MΩ"), meters()), Finding::unit_slip_suspected), Rows{});
  EXPECT_EQ(rows_with(marks(load_sides("80", "kΩ"), meters()), Finding::unit_slip_suspected), Rows{});  // 1.6 decades
}

TEST(UnitSlip, AVisitThatAgreesClearsIt) {
  Written written;
  for (int visit = 0; visit < 6; ++visit)
    written.insulation("T-1", "motor", "motor_winding", "3.0" + std::to_string(visit), "GΩ", day(60 * visit),
                       job(visit));
  written.insulation("T-1", "motor", "motor_winding", "2.9", "MΩ", day(400), job(10));
  EXPECT_EQ(rows_with(marks(written.table()), Finding::unit_slip_suspected), Rows{6});
  written.insulation("T-1", "motor", "motor_winding", "3.4", "MΩ", day(402), job(11));  // it is wet, and drying
  EXPECT_EQ(rows_with(marks(written.table()), Finding::unit_slip_suspected), Rows{});
}

TEST(Ceiling, EqualToTheCeilingOfItsMeterAtItsVoltage) {
  const Marks found = marks(load_sides("600", "MΩ"), meters());
  EXPECT_EQ(rows_with(found, Finding::ceiling_as_number_suspected), Rows{replaced_row});
  EXPECT_EQ(rows_with(marks(load_sides("599.9", "MΩ"), meters()), Finding::ceiling_as_number_suspected), Rows{});
}

TEST(OpenContactor, AWholeTenTimesAboveItsHistory) {
  EXPECT_EQ(rows_with(marks(load_sides(">600", "MΩ"), meters()), Finding::open_contactor_suspected),
            Rows{replaced_row});
  EXPECT_EQ(rows_with(marks(load_sides("12", "MΩ"), meters()), Finding::open_contactor_suspected), Rows{});
}

TEST(OpenContactor, AWholeAboveItsPart) {
  const auto with_part = [](const std::string& part) {
    Written written;
    written.insulation("T-1", "load_side", "load_side", "3.10", "MΩ", day(1), "J-1");
    written.insulation("T-1", "charger", "charger", part, "MΩ", day(1), "J-1");
    return rows_with(marks(written.table()), Finding::open_contactor_suspected);
  };
  EXPECT_EQ(with_part("0.4"), Rows{0});
  EXPECT_EQ(with_part("4.0"), Rows{});
}

TEST(Contact, SeveralWholesOverRangeInOneSession) {
  Written written;
  for (int visit = 0; visit < 3; ++visit)
    for (int object = 0; object < 6; ++object)
      written.insulation(truck(object), "load_side", "load_side", "2.5" + std::to_string(object), "MΩ", day(50 * visit),
                         job(6 * visit + object));
  for (int object = 0; object < 2; ++object)
    for (const std::string pole : {"hv_plus", "hv_minus"})
      written.insulation(truck(object), "load_side", "load_side", "OL", "MΩ", day(200), job(100 + object), "tester",
                         pole);
  const Marks found = marks(written.table(), meters());
  EXPECT_EQ(rows_with(found, Finding::contact_not_shown), (Rows{18, 19, 20, 21}));
  EXPECT_EQ(rows_with(found, Finding::open_contactor_suspected), Rows{});
}

TEST(Mistyped, OneDigitAwayInsideAJob) {
  const auto with = [](const std::string& object) {
    Written written;
    for (int part = 0; part < 5; ++part)
      written.bonding(part == 2 ? object : "T-12", "part" + std::to_string(part), "0.01", day(3), "J-1");
    return rows_with(marks(written.table()), Finding::object_mistyped_suspected);
  };
  EXPECT_EQ(with("T-13"), Rows{2});
  EXPECT_EQ(with("T-21"), Rows{2});
  EXPECT_EQ(with("T-1"), Rows{2});
  EXPECT_EQ(with("T-30"), Rows{});  // two digits: perhaps a job on two vehicles
}

/// Forty jobs of eight bonding values with `digits` decimals that no other job has in this order.
Written bonding_jobs(int digits) {
  Written written;
  unsigned state = 12345;
  for (int each = 0; each < 40; ++each)
    for (int part = 0; part < 8; ++part) {
      state = state * 1103515245U + 12345U;
      const unsigned value = (state >> 16U) % (digits == 2 ? 3 : 300);
      const std::string text = std::to_string(1000 + value).substr(digits == 2 ? 2 : 1);
      written.bonding(truck(each), "part" + std::to_string(part), "0." + text, day(each), job(each));
    }
  return written;
}
void copy_job(Written& written, const readings::Table& from, std::size_t original) {
  for (std::size_t part = 0; part < 8; ++part)
    written.bonding("T-999", "part" + std::to_string(part), std::string{from.value_text[8 * original + part]}, day(300),
                    "J-9999");
}

TEST(Copied, AVectorOfTellingValuesIsFoundAndItsSourceNamed) {
  Written written = bonding_jobs(3);
  copy_job(written, written.table(), 17);
  const Marks found = marks(written.table());
  EXPECT_EQ(rows_with(found, Finding::copied_suspected), (Rows{320, 321, 322, 323, 324, 325, 326, 327}));
  const auto evidence = std::ranges::find(found.evidence, Finding::copied_suspected, &Evidence::finding);
  ASSERT_NE(evidence, found.evidence.end());
  EXPECT_EQ(evidence->shown_by.front(), 8U * 17U);
  EXPECT_GT(evidence->statistic, evidence->threshold);
}

TEST(Copied, CoarseStepsProveNothing) {
  Written written = bonding_jobs(2);
  copy_job(written, written.table(), 17);
  EXPECT_EQ(rows_with(marks(written.table()), Finding::copied_suspected), Rows{});
}

TEST(Monitor, OneObjectThatAlwaysReadsTheMonitor) {
  Written written;
  for (int visit = 0; visit < 4; ++visit)
    for (int object = 0; object < 8; ++object)
      written.insulation(
          truck(object), "load_side", "load_side",
          object == 3 ? "0.8" + std::to_string(visit) : std::to_string(2 + object % 3) + ".5" + std::to_string(visit),
          "MΩ", day(50 * visit), job(8 * visit + object));
  EXPECT_EQ(rows_with(marks(written.table()), Finding::monitor_connected_suspected), (Rows{3, 11, 19, 27}));
}

/// Four sessions of six joints, the last one shifted by hundredths of an ohm.
Marks shifted_session(int hundredths) {
  Written written;
  for (int visit = 0; visit < 4; ++visit)
    for (int part = 0; part < 6; ++part) {
      const int value = 1 + part % 2 + (visit == 3 ? hundredths : 0);
      const std::string digits = std::to_string(100 + std::abs(value)).substr(1);
      written.bonding("T-1", "part" + std::to_string(part), (value < 0 ? "-0." : "0.") + digits, day(60 * visit),
                      job(visit));
    }
  return marks(written.table());
}

TEST(Nulls, RaisedLoweredAndNeither) {
  const Rows last{18, 19, 20, 21, 22, 23};
  EXPECT_EQ(rows_with(shifted_session(8), Finding::null_not_taken_suspected), last);
  EXPECT_EQ(rows_with(shifted_session(-4), Finding::null_below_zero), last);
  for (const int shift : {8, -4, 0})
    EXPECT_EQ(rows_with(shifted_session(shift), Finding::unlike_its_like), Rows{}) << shift;
  EXPECT_EQ(shifted_session(0).evidence.size(), 0U);
}

TEST(Drift, MarksReadingsOnceTheChecksLeaveTheSheet) {
  Written written;
  for (int week = 0; week < 10; ++week) {
    written.check("insulation_resistance", "check_resistor", std::to_string(100 + week) + ".0", "MΩ", "100",
                  day(7 * week), job(week));
    written.insulation("T-1", "load_side", "load_side", "3.0" + std::to_string(week), "MΩ", day(7 * week + 1),
                       job(50 + week));
  }
  // allowed 3 % and 4 steps of 0.1 MΩ: 3.4 MΩ; the median of five checks first exceeds it in week 6 (102 ... 106)
  const Marks found = marks(written.table(), meters());
  EXPECT_EQ(rows_with(found, Finding::meter_drift_suspected), (Rows{12, 13, 14, 15, 16, 17, 18, 19}));
}

TEST(WrongFunction, AFailedClosingCheckVoidsWhatLiesBetween) {
  const auto with_closing = [](const std::string& closing) {
    Written written;
    const auto dead = [&](const std::string& value) {
      written.row({"T-1", "truck", "hv_bus", "hv_bus", "dc_voltage", value, "V", day(1), "volt", "", "", "J-1",
                   "as_found", "", ""});
    };
    written.check("dc_voltage", "known_source", "25.1", "V", "25.1", day(1), "J-1", "volt");
    dead("0.0");
    dead("0.0");
    written.check("dc_voltage", "known_source", closing, "V", "25.1", day(1), "J-1", "volt");
    dead("0.1");
    return rows_with(marks(written.table(), meters()), Finding::wrong_function_suspected);
  };
  EXPECT_EQ(with_closing("0.0"), (Rows{1, 2, 3}));
  EXPECT_EQ(with_closing("25.0"), Rows{});
}

TEST(WrongFunction, AboveEveryRangeAndBelowAny) {
  EXPECT_EQ(rows_with(marks(load_sides("900", "MΩ"), meters()), Finding::wrong_function_suspected), Rows{replaced_row});
  EXPECT_EQ(rows_with(marks(load_sides("12", "Ω"), meters()), Finding::wrong_function_suspected), Rows{replaced_row});
}

TEST(Poles, EqualToTheDigitIsToldNotSuspected) {
  Written written;
  written.insulation("T-1", "load_side", "load_side", "3.10", "MΩ", day(1), "J-1", "tester", "hv_plus");
  written.insulation("T-1", "load_side", "load_side", "3.10", "MΩ", day(1), "J-1", "tester", "hv_minus");
  const Marks found = marks(written.table());
  EXPECT_EQ(rows_with(found, Finding::poles_joined), (Rows{0, 1}));
  EXPECT_EQ(found.evidence.size(), 1U);
}

TEST(NotSettled, ASecondReadingThatRises) {
  const auto again = [](const std::string& value) {
    Written written;
    for (const std::string& each : {std::string{"2.0"}, value})
      written.insulation("T-1", "pack", "battery_pack", each, "MΩ", day(1), "J-1", "tester", "hv_plus");
    return rows_with(marks(written.table()), Finding::not_settled);
  };
  EXPECT_EQ(again("3.0"), Rows{0});
  EXPECT_EQ(again("2.1"), Rows{});
}

TEST(Unlike, AJointAboveItsOwnHistory) {
  Written written;
  const std::array values{"0.01", "0.01", "0.04", "0.13"};
  for (int visit = 0; visit < 4; ++visit)
    for (int part = 0; part < 6; ++part)
      written.bonding("T-1", "part" + std::to_string(part),
                      part == 2 ? values[static_cast<std::size_t>(visit)] : "0.01", day(60 * visit), job(visit));
  EXPECT_EQ(rows_with(marks(written.table()), Finding::unlike_its_like), Rows{20});
}

TEST(Unlike, BatteriesAndPairs) {
  Written written;
  for (int visit = 0; visit < 4; ++visit)
    for (int object = 0; object < 10; ++object) {
      const std::string volt = "12." + std::to_string(45 + object + visit);
      written.resting(truck(object), "battery_a", object == 6 && visit == 2 ? "10.40" : volt, day(50 * visit),
                      job(10 * visit + object));
      written.resting(truck(object), "battery_b", object == 8 ? "12.2" + std::to_string(visit) : volt, day(50 * visit),
                      job(10 * visit + object));
    }
  const Marks found = marks(written.table());
  EXPECT_EQ(rows_with(found, Finding::unlike_its_like), Rows{52});
  EXPECT_EQ(rows_with(found, Finding::imbalance), (Rows{52, 56, 57, 76, 77}));  // from the third reading of the pair on
}

TEST(Leads, OpenLeadsThatRead) {
  Written written;
  written.check("insulation_resistance", "leads_open", "200", "MΩ", "", day(1), "J-1");
  written.insulation("T-1", "motor", "motor_winding", "90", "MΩ", day(1), "J-2");
  written.insulation("T-1", "charger", "charger", "9", "MΩ", day(1), "J-2");
  EXPECT_EQ(rows_with(marks(written.table(), meters()), Finding::leakage_of_leads_suspected), (Rows{0, 1}));
}

TEST(Marks, EveryMarkedRowHasEvidenceAndThreadsChangeNothing) {
  const readings::Table table = load_sides("600", "MΩ");
  const Marks one = marks(table, meters(), {}, 1);
  const Marks four = marks(table, meters(), {}, 4);
  EXPECT_EQ(one.findings, four.findings);
  ASSERT_EQ(one.evidence.size(), four.evidence.size());
  std::vector<std::uint64_t> from_evidence(table.rows());
  for (const Evidence& evidence : one.evidence) {
    EXPECT_FALSE(evidence.sentence.empty());
    for (const std::size_t row : evidence.rows) from_evidence[row] |= Findings{evidence.finding}.bits();
  }
  EXPECT_EQ(from_evidence, one.findings);
}

TEST(Marks, AnEmptyTableAndSenselessThreads) {
  const readings::Table empty = readings::parse(header).table;
  EXPECT_TRUE(marks(empty).findings.empty());
  EXPECT_THROW(static_cast<void>(marks(empty, {}, {}, -1)), InvalidParameter);
}

}  // namespace
}  // namespace ohmward::screening
