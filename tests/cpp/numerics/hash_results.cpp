// Hashes the results of every elementwise function and formula and compares them with the ones in the repository.
//
//     hash_results <file of hashes> [--short] [--write]
//
// At each instruction level that the machine has: 2^21 results of every function; --short takes 2^17 of every formula,
// for slow emulators. Arguments: usual values, wide values, any bit pattern. Large, because a smaller hash once missed
// a contracted multiply-add. Needs nothing but the two files that are compiled for each level, so that any compiler for
// any machine can build it alone.

#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <map>
#include <string>
#include <vector>

#include "formula/level_tables.hpp"
#include "numerics/level_tables.hpp"

namespace ohmward::numerics {
LevelTable functions_baseline() noexcept;
LevelTable functions_x86_64_v3() noexcept;
LevelTable functions_x86_64_v4() noexcept;
}  // namespace ohmward::numerics

namespace ohmward {
namespace {

constexpr std::size_t whole = std::size_t{1} << 21;
constexpr std::size_t prefix = std::size_t{1} << 17;

std::uint64_t mixed(std::uint64_t x) {
  x += 0x9E3779B97F4A7C15;
  x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9;
  x = (x ^ (x >> 27)) * 0x94D049BB133111EB;
  return x ^ (x >> 31);
}

double unit(std::uint64_t word) { return static_cast<double>(word >> 11) * 0x1p-53; }

bool ends_with(const std::string& text, const char* ending) {
  const std::size_t length = std::strlen(ending);
  return text.size() >= length && text.compare(text.size() - length, length, ending) == 0;
}

/// 2^(-n/2 ... n/2), by exact arithmetic.
double spread(double centre, int octaves, std::uint64_t word) {
  const auto exponent =
      static_cast<std::uint64_t>(1023 - octaves / 2 + static_cast<int>(word % static_cast<unsigned>(octaves)));
  return centre * numerics::detail::from_bits(exponent << 52) * (1 + unit(mixed(word)));
}

/// A value that an argument of this name usually has.
double usual(const std::string& name, std::uint64_t word) {
  if (name == "x") return (word & 1) != 0 ? 40 * unit(word) - 20 : spread(1, 60, word);
  if (name == "t") return spread(1, 60, word);
  if (ends_with(name, "celsius")) return -20 + 120 * unit(word);
  if (ends_with(name, "_ohm")) return spread(1e7, 24, word);
  if (ends_with(name, "_farad")) return spread(1e-7, 16, word);
  if (ends_with(name, "_ampere") || ends_with(name, "_coulomb")) return spread(1e-7, 16, word);
  if (ends_with(name, "_volt")) return 1 + 999 * unit(word);
  if (ends_with(name, "_second")) return 1 + 999 * unit(word);
  return unit(word);  // a fraction
}

/// One of the values that break careless code.
double unusual(std::uint64_t word) {
  constexpr double values[] = {nan,
                               infinity,
                               -infinity,
                               0.0,
                               -0.0,
                               1.0,
                               -1.0,
                               5e-324,
                               -5e-324,
                               2.2250738585072014e-308,
                               1.7976931348623157e308,
                               -300.0,
                               1e6,
                               -708.3964185322641,
                               709.782712893384,
                               -1022,
                               1023.9999999999999};
  return values[word % (sizeof values / sizeof values[0])];
}

double argument(const std::string& name, std::uint64_t number, std::size_t place) {
  const std::uint64_t word = mixed(number * 16 + place);
  const std::uint64_t kind = mixed(word) % 64;
  if (kind == 0) return unusual(word);
  if (kind == 1) return numerics::detail::from_bits(word);
  if (kind < 8) return ((word >> 40) & 1) != 0 ? spread(1, 2000, word) : 2048 * unit(word) - 1024;
  return usual(name, word);
}

/// What the whole loop shares, by argument name.
double parameter(const std::string& name) {
  static const std::map<std::string, double> values{{"p", -0.731},
                                                    {"step_kelvin", 10},
                                                    {"reference_celsius", 40},
                                                    {"low_celsius", 0},
                                                    {"high_celsius", 60},
                                                    {"coefficient_below_kelvin", 1245},
                                                    {"coefficient_above_kelvin", 4230},
                                                    {"knot_celsius", 40},
                                                    {"zero_kelvin", 273},
                                                    {"activation_energy_electronvolt", 0.7},
                                                    {"tau_kelvin", 234.5},
                                                    {"factor", 17.62},
                                                    {"offset_kelvin", 243.12},
                                                    {"early_second", 60},
                                                    {"late_second", 600},
                                                    {"loss_factor", 0.2},
                                                    {"absorption_exponent", 0.8},
                                                    {"threshold_volt", 60}};
  const auto found = values.find(name);
  if (found == values.end()) {
    std::fprintf(stderr, "no value for parameter %s\n", name.c_str());
    std::exit(2);
  }
  return found->second;
}

std::vector<std::string> names(const char* list) {
  std::vector<std::string> parts(1);
  for (const char* c = list; *c != '\0'; ++c) {
    if (*c == ',')
      parts.emplace_back();
    else if (*c != ' ')
      parts.back() += *c;
  }
  return parts;
}

class Hash {
 public:
  void add(std::uint64_t word) {
    state_ = (state_ ^ word) * 0x9E3779B97F4A7C15;
    state_ ^= state_ >> 29;
  }
  [[nodiscard]] std::uint64_t value() const { return state_; }

 private:
  std::uint64_t state_ = 1;
};

using Hashes = std::map<std::string, std::uint64_t>;

/// Hash of `count` results in pieces of odd lengths, so that every loop's tail is in it.
void add_hashes(Hashes& all, const numerics::Elementwise& f, std::size_t count) {
  const std::vector<std::string> arguments = names(f.arguments);
  std::vector<double> parameters;
  for (std::size_t k = f.inputs; k < arguments.size(); ++k) parameters.push_back(parameter(arguments[k]));
  constexpr std::size_t piece = 1237;
  std::vector<std::vector<double>> columns(f.inputs, std::vector<double>(piece));
  std::vector<const double*> inputs;
  for (const auto& column : columns) inputs.push_back(column.data());
  std::vector<double> out(piece);
  std::vector<std::int8_t> status(piece);
  Hash values, statuses;
  const auto note = [&](std::size_t so_many) {
    const std::string name = std::string(f.name) + (so_many == prefix ? " short" : " whole");
    all[name] = values.value();
    if (f.status != nullptr) all["status of " + name] = statuses.value();
  };
  for (std::size_t first = 0; first < count;) {
    std::size_t size = count - first < piece ? count - first : piece;
    if (first < prefix && first + size > prefix) size = prefix - first;
    for (std::size_t k = 0; k < f.inputs; ++k)
      for (std::size_t i = 0; i < size; ++i) columns[k][i] = argument(arguments[k], first + i, k);
    f.value(size, inputs.data(), parameters.data(), out.data());
    for (std::size_t i = 0; i < size; ++i) values.add(numerics::detail::bits(out[i]));
    if (f.status != nullptr) {
      f.status(size, inputs.data(), parameters.data(), status.data());
      for (std::size_t i = 0; i < size; ++i) statuses.add(static_cast<std::uint8_t>(status[i]));
    }
    first += size;
    if (first == prefix || first == whole) note(first);
  }
}

Hashes hashes(numerics::LevelTable functions, numerics::LevelTable formulas, bool short_formulas) {
  Hashes all;
  for (std::size_t i = 0; i < functions.size; ++i) add_hashes(all, functions.first[i], whole);
  for (std::size_t i = 0; i < formulas.size; ++i) add_hashes(all, formulas.first[i], short_formulas ? prefix : whole);
  return all;
}

Hashes read(const char* path) {
  Hashes all;
  std::FILE* const file = std::fopen(path, "r");
  if (file == nullptr) return all;
  char name[200];
  unsigned long long value = 0;
  while (std::fscanf(file, "%llx %199[^\n]", &value, name) == 2) all[name] = value;
  std::fclose(file);
  return all;
}

int compare(const char* level, const Hashes& made, const Hashes& expected) {
  int different = 0;
  for (const auto& [name, value] : made) {
    const auto known = expected.find(name);
    if (known != expected.end() && known->second == value) continue;
    std::printf("%s: %s is %016llx\n", level, name.c_str(), static_cast<unsigned long long>(value));
    ++different;
  }
  std::printf("%s: %zu hashes, %d different\n", level, made.size(), different);
  return different + (made.empty() ? 1 : 0);
}

}  // namespace
}  // namespace ohmward

int main(int argc, char** argv) {
  using namespace ohmward;
  if (argc < 2) return 2;
  bool short_formulas = false, write = false;
  for (int i = 2; i < argc; ++i) {
    short_formulas = short_formulas || std::strcmp(argv[i], "--short") == 0;
    write = write || std::strcmp(argv[i], "--write") == 0;
  }
  const Hashes baseline = hashes(numerics::functions_baseline(), formula::formulas_baseline(), short_formulas);
  if (write) {
    std::FILE* const file = std::fopen(argv[1], "w");
    if (file == nullptr) return 2;
    for (const auto& [name, value] : baseline)
      std::fprintf(file, "%016llx %s\n", static_cast<unsigned long long>(value), name.c_str());
    std::fclose(file);
  }
  const Hashes expected = read(argv[1]);
  int different = compare("baseline", baseline, expected);
#ifdef OHMWARD_X86_LEVELS
  if (__builtin_cpu_supports("avx2"))
    different += compare(
        "x86-64-v3", hashes(numerics::functions_x86_64_v3(), formula::formulas_x86_64_v3(), short_formulas), expected);
  if (__builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") && __builtin_cpu_supports("avx512bw") &&
      __builtin_cpu_supports("avx512vl"))
    different += compare(
        "x86-64-v4", hashes(numerics::functions_x86_64_v4(), formula::formulas_x86_64_v4(), short_formulas), expected);
#endif
  return different == 0 ? 0 : 1;
}
