#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "ohmward/core/errors.hpp"
#include "ohmward/readings/parse.hpp"

namespace ohmward::readings {
namespace {

const std::string header = "object_id,part,quantity,value,unit,taken_at,instrument_id";

Parsed parse_rows(const std::string& rows, const ColumnMap& map = {}) {
  return parse(header + "\n" + rows, map, "r.csv");
}

ColumnSource column(std::string name, std::optional<std::string> from = {}) {
  return {.name = std::move(name), .from = std::move(from)};
}
ColumnSource constant(std::string name, std::string text) {
  ColumnSource source = column(std::move(name));
  source.constant = std::move(text);
  return source;
}

/// The message of the UnreadableInput that `bytes` raise; empty where they raise none.
std::string unreadable(const std::string& bytes, const ColumnMap& map = {}) {
  try {
    static_cast<void>(parse(bytes, map, "r.csv"));
  } catch (const UnreadableInput& error) {
    return error.what();
  }
  return {};
}

void expect_holds(const std::string& text, std::initializer_list<const char*> pieces) {
  for (const char* const piece : pieces) EXPECT_NE(text.find(piece), std::string::npos) << text << " lacks " << piece;
}

TEST(Parse, ReadsARow) {
  const Parsed parsed = parse_rows("SW-14,motor_rear,insulation_resistance,2.3,GΩ,2025-03-04,meter-02\n");
  ASSERT_EQ(parsed.table.rows(), 1U);
  EXPECT_EQ(parsed.rows, 1);
  EXPECT_EQ(parsed.table.value[0], 2.3e9);
  EXPECT_EQ(parsed.table.resolution[0], 1e8);
  EXPECT_EQ(parsed.table.value_text[0], "2.3");
  EXPECT_EQ(parsed.table.unit.word(0), "GΩ");
  EXPECT_EQ(parsed.table.column(TextName::object_id).word(0), "SW-14");
  EXPECT_EQ(parsed.table.column(TextName::instrument_id).word(0), "meter-02");
  EXPECT_EQ(parsed.table.column(TextName::note).word(0), "");
  EXPECT_TRUE(std::isnan(parsed.table.at(NumberName::part_celsius, 0)));
  EXPECT_EQ(parsed.table.id(0), "R-00002");
}

TEST(Parse, SemicolonCommaMarkCrLfAndByteOrderMark) {
  const Parsed parsed = parse(
      "\xEF\xBB\xBFobject_id;part;quantity;value;unit;taken_at;instrument_id\r\n"
      "A;m;insulation_resistance;2,3;MΩ;2025-03-04;i\r\n"
      "\r\n"
      "A;m;insulation_resistance;1,234;MΩ;2025-03-04;i");
  EXPECT_EQ(parsed.dialect.separator, ';');
  EXPECT_EQ(parsed.dialect.decimal, DecimalMark::comma);
  EXPECT_EQ(parsed.dialect.decimal_commas, 1);
  EXPECT_TRUE(parsed.dialect.byte_order_mark);
  ASSERT_EQ(parsed.table.rows(), 2U);
  EXPECT_EQ(parsed.table.value[1], 1.234e6);  // settled by the other rows
  EXPECT_EQ(parsed.table.line[1], 4);
}

TEST(Parse, AmbiguousIsRejectedWithLineColumnTextAndReason) {
  const Parsed parsed = parse_rows("A,m,insulation_resistance,\"1,234\",MΩ,2025-03-04,i\n");
  EXPECT_EQ(parsed.table.rows(), 0U);
  ASSERT_EQ(parsed.rejected.size(), 1U);
  EXPECT_EQ(parsed.rejected[0].line, 2);
  EXPECT_EQ(parsed.rejected[0].column, "value");
  EXPECT_EQ(parsed.rejected[0].text, "1,234");
  expect_holds(parsed.rejected[0].why, {"decimal", "thousands"});
}

TEST(Parse, QuotesFollowRfc4180) {
  const Parsed parsed = parse(header + ",note\n" +
                              "\"A\",\"m\",insulation_resistance,1,MΩ,2025-03-04,i,\"said \"\"wet\"\",\nthen dry\"\n"
                              "B,m,insulation_resistance,1,MΩ,2025-03-04,i,5\" hose\n"
                              "C,m,insulation_resistance,1,MΩ,2025-03-04,i,\"x\"y\n");
  ASSERT_EQ(parsed.table.rows(), 2U);
  EXPECT_EQ(parsed.table.column(TextName::note).word(0), "said \"wet\",\nthen dry");
  EXPECT_EQ(parsed.table.line[1], 4);
  EXPECT_EQ(parsed.table.column(TextName::note).word(1), "5\" hose");
  ASSERT_EQ(parsed.rejected.size(), 1U);
  EXPECT_EQ(parsed.rejected[0].line, 5);
  expect_holds(parsed.rejected[0].why, {"closing quote"});
}

TEST(Parse, LoneCarriageReturnsEndLines) {
  const Parsed parsed = parse(header + "\rA,m,dc_voltage,1,V,2025-03-04,i\rA,m,dc_voltage,2,V,2025-03-04,i\r");
  ASSERT_EQ(parsed.table.rows(), 2U);
  EXPECT_EQ(parsed.table.line[1], 3);
}

TEST(Parse, RowsAreRejectedNeverThrown) {
  struct Case {
    const char* row;
    const char* column;
    const char* why;
  };
  const Case cases[] = {
      {",m,insulation_resistance,1,MΩ,2025-03-04,i", "object_id", "blank"},
      {"A,m,,1,MΩ,2025-03-04,i", "quantity", "blank, expected one of insulation_resistance"},
      {"A,m,resistance,1,MΩ,2025-03-04,i", "quantity", "bonding_resistance"},
      {"A,m,insulation_resistance,,MΩ,2025-03-04,i", "value", "no value"},
      {"A,m,insulation_resistance,nan,MΩ,2025-03-04,i", "value", "no number"},
      {"A,m,insulation_resistance,1,,2025-03-04,i", "value", "unit missing"},
      {"A,m,insulation_resistance,1,bar,2025-03-04,i", "value", "'bar'"},
      {"A,m,temperature,-300,°C,2025-03-04,i", "value", "absolute zero"},
      {"A,m,insulation_resistance,1,MΩ,04.03.2025,i", "taken_at", "ISO 8601"},
      {"A,m,insulation_resistance,1,MΩ,,i", "taken_at", "expected"},
      {"A,m,insulation_resistance,2,3,MΩ,2025-03-04,i", "", "8 cells, expected 7"},
      {"A,m", "", "2 cells, expected 7"},
      {";;;;", "", "1 cells, expected 7"},
  };
  for (const Case& each : cases) {
    const Parsed parsed = parse_rows(each.row);
    EXPECT_EQ(parsed.rows, 1);
    ASSERT_EQ(parsed.rejected.size(), 1U) << each.row;
    EXPECT_EQ(parsed.rejected[0].column, each.column) << each.row;
    expect_holds(parsed.rejected[0].why, {each.why});
  }
}

TEST(Parse, MissingContextIsNoReasonToReject) {
  const Parsed parsed = parse_rows("A,,insulation_resistance,1,MΩ,2025-03-04,-\n");
  ASSERT_EQ(parsed.table.rows(), 1U);
  EXPECT_EQ(parsed.table.column(TextName::part).code(0), TextColumn::missing);
  EXPECT_EQ(parsed.table.column(TextName::instrument_id).code(0), TextColumn::missing);
}

TEST(Parse, ASmallNegativeBondingValueIsKept) {
  const Parsed parsed = parse_rows("A,m,bonding_resistance,-0.01,Ω,2025-03-04,i\n");
  ASSERT_EQ(parsed.table.rows(), 1U);
  EXPECT_EQ(parsed.table.value[0], -0.01);
}

TEST(Parse, ACellOfAMillionCharactersIsRejectedAndShownShort) {
  const Parsed parsed = parse_rows("A,m,insulation_resistance," + std::string(1'000'000, '9') + ",MΩ,2025-03-04,i\n");
  ASSERT_EQ(parsed.rejected.size(), 1U);
  EXPECT_EQ(parsed.rejected[0].column, "value");
  EXPECT_LT(parsed.rejected[0].text.size(), 300U);
  expect_holds(parsed.rejected[0].why, {"1000000"});
}

TEST(Parse, NumberColumnsAreCheckedToo) {
  const Parsed parsed = parse(header + ",test_voltage_volt,part_celsius,reference_value\n" +
                              "A,m,insulation_resistance,1,MΩ,2025-03-04,i,500,-274,\n"
                              "A,m,insulation_resistance,1,MΩ,2025-03-04,i,1 kV,21.5,2\n"
                              "A,m,insulation_resistance,OL,MΩ,2025-03-04,i,500,n/a,OL\n"
                              "A,m,insulation_resistance,1,MΩ,2025-03-04,i,500,,>4\n");
  ASSERT_EQ(parsed.table.rows(), 2U);
  EXPECT_EQ(parsed.table.at(NumberName::test_voltage_volt, 0), 1000);
  EXPECT_EQ(parsed.table.at(NumberName::part_celsius, 0), 21.5);
  EXPECT_EQ(parsed.table.at(NumberName::reference_value, 0), 2e6);  // in the row's unit
  EXPECT_TRUE(std::isnan(parsed.table.at(NumberName::part_celsius, 1)));
  EXPECT_TRUE(std::isnan(parsed.table.at(NumberName::reference_value, 1)));  // open leads
  ASSERT_EQ(parsed.rejected.size(), 2U);
  EXPECT_EQ(parsed.rejected[0].column, "part_celsius");
  EXPECT_EQ(parsed.rejected[1].column, "reference_value");
}

TEST(Parse, AReadingIdCountsOnce) {
  const Parsed parsed =
      parse("reading_id," + header +
            "\nX,A,m,insulation_resistance,1,MΩ,2025-03-04,i\nX,A,m,insulation_resistance,2,MΩ,2025-03-04,i\n,"
            "A,m,insulation_resistance,3,MΩ,2025-03-04,i\n");
  ASSERT_EQ(parsed.table.rows(), 2U);
  EXPECT_EQ(parsed.table.id(0), "X");
  EXPECT_EQ(parsed.table.id(1), "R-00004");
  EXPECT_EQ(parsed.rejected.at(0).column, "reading_id");
  EXPECT_EQ(parsed.table.row_of("X"), 0U);
  EXPECT_EQ(parsed.table.row_of("R-00004"), 1U);
  for (const char* const other : {"R-00002", "R-00005", "R-4", "R-", "Y", ""}) EXPECT_FALSE(parsed.table.row_of(other));
}

TEST(Parse, UnknownColumnsAreKept) {
  const Parsed parsed = parse(header + ",bay,\nA,m,dc_voltage,1,V,2025-03-04,i,3,x\n");
  ASSERT_EQ(parsed.table.unknown.size(), 2U);
  EXPECT_EQ(parsed.table.unknown[0].first, "bay");
  EXPECT_EQ(parsed.table.unknown[0].second.word(0), "3");
  EXPECT_EQ(parsed.table.unknown[1].first, "column 9");
}

TEST(Parse, UnreadableFilesNameFileLineColumnAndExpectation) {
  expect_holds(unreadable(""), {"r.csv", "line 1", "empty"});
  expect_holds(unreadable("\n\n"), {"empty"});
  expect_holds(unreadable("object_id,part,quantity,unit,taken_at,instrument_id\n"),
               {"r.csv", "line 1", "'value'", "missing", "found: object_id"});
  expect_holds(unreadable("object_id,part,quantity,value,taken_at\n"), {"'instrument_id'", "constant"});
  expect_holds(unreadable(header + ",value\n"), {"r.csv", "line 1", "'value'", "twice"});
  expect_holds(unreadable(header + "\nA,\"m\nx\ny"), {"r.csv", "line 2", "quote"});
  expect_holds(unreadable(header + "\nA,m,\xE4\n"), {"r.csv", "line 2", "0xE4", "UTF-8"});
  expect_holds(unreadable("\xFF\xFEo\0b\0"), {"0xFF", "UTF-8"});
}

TEST(Parse, ColumnMapRenamesAndGivesUnitsFormatsConstantsAndKinds) {
  ColumnMap map;
  map.columns = {column("object_id", "Fahrzeug"),
                 column("part", "Teil"),
                 column("value", "Riso [MΩ]"),
                 column("taken_at", "Datum"),
                 column("instrument_id", "Gerät"),
                 column("capacitance_farad", "C [nF]"),
                 constant("quantity", "insulation_resistance"),
                 constant("test_voltage_volt", "500")};
  map.columns[2].unit = "MΩ";
  map.columns[3].format = "%d.%m.%Y";
  map.columns[5].unit = "nF";
  map.parts = {{"Motor", "motor_winding"}};
  map.objects = {{"SW-14", "sweeper_400v"}};
  const std::string over_range[] = {"Anschlag"};
  map.words = Words{over_range, {}};
  const Parsed parsed = parse(
      "Fahrzeug;Teil;Riso [MΩ];Datum;Gerät;C [nF]\n"
      "SW-14;Motor;480k;04.03.2025;m-1;8,2\n"
      "SW-15;Kabel;2,5;4.3.2025;m-1;\n"
      "SW-15;Kabel;Anschlag;4.3.2025;m-1;\n",
      map);
  ASSERT_EQ(parsed.table.rows(), 3U) << parsed.rejected.at(0).why;
  EXPECT_EQ(parsed.table.value[0], 480e3);  // the cell's own prefix wins over the header's unit
  EXPECT_EQ(parsed.table.value[1], 2.5e6);
  EXPECT_EQ(parsed.table.censoring[2], Censoring::overload);
  EXPECT_EQ(parsed.table.taken_at_second[0], 1741046400);
  EXPECT_EQ(parsed.table.at(NumberName::capacitance_farad, 0), 8.2e-9);
  EXPECT_EQ(parsed.table.at(NumberName::test_voltage_volt, 1), 500);
  EXPECT_EQ(parsed.table.column(TextName::part_kind).word(0), "motor_winding");
  EXPECT_EQ(parsed.table.column(TextName::part_kind).word(1), "");
  EXPECT_EQ(parsed.table.column(TextName::object_kind).word(0), "sweeper_400v");
}

TEST(Parse, AGivenKindWinsOverTheMap) {
  ColumnMap map;
  map.parts = {{"m", "motor_winding"}};
  const Parsed parsed =
      parse(header + ",part_kind\nA,m,dc_voltage,1,V,2025-03-04,i,converter\nA,m,dc_voltage,1,V,2025-03-04,i,\n", map);
  EXPECT_EQ(parsed.table.column(TextName::part_kind).word(0), "converter");
  EXPECT_EQ(parsed.table.column(TextName::part_kind).word(1), "motor_winding");
}

TEST(Parse, WideFormsGiveOneReadingACell) {
  ColumnMap map;
  map.columns = {column("object_id", "Wagen"), column("taken_at", "Tag"), constant("instrument_id", "")};
  map.wide = {{.from = "A", .part = "battery_a", .quantity = QuantityKind::resting_voltage, .unit = "V"},
              {.from = "Motor", .part = "motor_rear", .quantity = QuantityKind::insulation_resistance, .unit = "MΩ"}};
  const Parsed parsed = parse(
      "Wagen,Tag,A,Motor,Halle\n1,2025-03-04,12.61,OL,N\n2,2025-03-04,12.5,,S\n3,gestern,12.5,3,S\n4,2025-03-04\n",
      map);
  EXPECT_EQ(parsed.rows, 8);
  ASSERT_EQ(parsed.table.rows(), 3U);
  ASSERT_EQ(parsed.rejected.size(), 5U);
  EXPECT_EQ(parsed.table.quantity[0], QuantityKind::resting_voltage);
  EXPECT_EQ(parsed.table.column(TextName::part).word(1), "motor_rear");
  EXPECT_EQ(parsed.table.censoring[1], Censoring::overload);
  EXPECT_EQ(parsed.table.id(1), "R-00002-2");
  EXPECT_EQ(parsed.table.unknown.at(0).second.word(2), "S");
  EXPECT_EQ(parsed.rejected[0].column, "Motor");
  EXPECT_EQ(parsed.rejected[1].column, "Tag");
}

TEST(Parse, SenselessColumnMapsThrow) {
  const auto throws = [](const ColumnMap& map, const char* what) {
    try {
      map.check();
      ADD_FAILURE() << "accepted: " << what;
    } catch (const InvalidParameter& error) {
      expect_holds(error.what(), {what});
    }
  };
  ColumnMap map;
  map.columns = {column("volume", "x")};
  throws(map, "columns.volume");
  map.columns = {column("part"), column("part")};
  throws(map, "each column once");
  map.columns = {column("part", "x")};
  map.columns[0].constant = "y";
  throws(map, "columns.part");
  map.columns = {column("taken_at")};
  map.columns[0].format = "%d/%m";
  throws(map, "columns.taken_at.format");
  map.columns = {column("note")};
  map.columns[0].unit = "V";
  throws(map, "columns.note.unit");
  map.columns = {column("capacitance_farad")};
  map.columns[0].unit = "V";
  throws(map, "expected F");
  map.columns = {column("value", "x")};
  map.wide = {{.from = "A", .part = "battery_a", .quantity = QuantityKind::resting_voltage, .unit = "V"}};
  throws(map, "wide");
  map.columns = {};
  map.wide[0].unit = "Ω";
  throws(map, "wide.A.unit");
}

TEST(Parse, AMapThatNamesAHeaderWhichIsNotThereIsUnreadable) {
  ColumnMap map;
  map.columns = {column("value", "Wert")};
  expect_holds(unreadable(header + "\n", map), {"r.csv", "'Wert'", "value"});
}

TEST(Parse, MixedDecimalMarksAreTold) {
  const Parsed parsed = parse_rows("A,m,dc_voltage,\"2,3\",V,2025-03-04,i\nA,m,dc_voltage,2.3,V,2025-03-04,i\n");
  EXPECT_EQ(parsed.dialect.decimal, DecimalMark::mixed);
  EXPECT_EQ(parsed.table.rows(), 2U);
}

struct MemoryColumn {
  std::string name, bytes;
  std::vector<std::int64_t> offsets{0};
  MemoryColumn(std::string column_name, std::initializer_list<const char*> cells) : name(std::move(column_name)) {
    for (const char* const cell : cells) {
      bytes += cell;
      offsets.push_back(static_cast<std::int64_t>(bytes.size()));
    }
  }
};

std::vector<TextCells> views(const std::vector<MemoryColumn>& columns) {
  std::vector<TextCells> out;
  for (const MemoryColumn& each : columns)
    out.push_back({.name = each.name, .offsets = each.offsets, .bytes = each.bytes});
  return out;
}

TEST(FromColumns, GivesTheTableOfTheSameFile) {
  std::vector<MemoryColumn> columns{
      {"object_id", {"A", "B"}},   {"part", {"m", "m"}}, {"quantity", {"dc_voltage", "dc"}},
      {"value", {"2,5", "3"}},     {"unit", {"V", "V"}}, {"taken_at", {"2025-03-04", "2025-03-04"}},
      {"instrument_id", {"i", ""}}};
  const Parsed parsed = from_columns(views(columns));
  ASSERT_EQ(parsed.table.rows(), 1U);
  EXPECT_EQ(parsed.table.value[0], 2.5);
  EXPECT_EQ(parsed.table.line[0], 2);
  EXPECT_EQ(parsed.dialect.decimal, DecimalMark::comma);
  EXPECT_EQ(parsed.rejected.at(0).line, 3);
}

TEST(FromColumns, RefusesBrokenColumns) {
  std::vector<MemoryColumn> columns{{"object_id", {"A", "B"}}, {"part", {"m"}}};
  EXPECT_THROW(static_cast<void>(from_columns(views(columns))), UnreadableInput);
  columns = {{"object_id", {"A"}}};
  columns[0].offsets[1] = 99;
  EXPECT_THROW(static_cast<void>(from_columns(views(columns))), UnreadableInput);
  EXPECT_THROW(static_cast<void>(from_columns({})), UnreadableInput);
  columns = {{"object_id", {"\xFF"}}};
  EXPECT_THROW(static_cast<void>(from_columns(views(columns))), UnreadableInput);
}

TEST(TextColumn, CodesAreStableWhileItGrows) {
  TextColumn column;
  for (int round = 0; round < 2; ++round)
    for (int i = 0; i < 1000; ++i) column.append("word" + std::to_string(i));
  column.append("");
  EXPECT_EQ(column.words().size(), 1000U);
  for (int i = 0; i < 1000; ++i) EXPECT_EQ(column.code_of("word" + std::to_string(i)), i);
  EXPECT_EQ(column.word(1999), "word999");
  EXPECT_EQ(column.code(2000), TextColumn::missing);
  EXPECT_EQ(column.code_of("other"), TextColumn::missing);
}

}  // namespace
}  // namespace ohmward::readings
