// Prints nanoseconds an element of every kernel and its ratio to a stream of the same shape, measured in the same run.
//
//     benchmark_kernels [repetitions]
//
// In cache: 1024 elements, one thread. In memory: 1e7 elements, one and two threads. Best of the repetitions; kernels
// and streams take turns within a repetition, so that a busy machine troubles all alike.

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <memory>
#include <string>
#include <vector>
#ifdef __linux__
#include <sys/mman.h>
#endif

#include "ohmward/formula/batch.hpp"
#include "ohmward/numerics/elementary.hpp"
#include "ohmward/numerics/parallel.hpp"
#include "stream.hpp"

namespace {

using namespace ohmward;
using numerics::InstructionLevel;

constexpr std::size_t large = 10'000'000;
constexpr std::size_t small = 1024;

/// Memory on large pages where the system gives them.
template <class T>
struct Column {
  explicit Column(std::size_t size) {
    constexpr std::size_t page = std::size_t{1} << 21;
    const std::size_t bytes = (size * sizeof(T) + page - 1) / page * page;
    data = static_cast<T*>(std::aligned_alloc(page, bytes));
    if (data == nullptr) std::abort();
#ifdef __linux__
    madvise(data, bytes, MADV_HUGEPAGE);
#endif
    std::fill_n(data, size, T{});
  }
  ~Column() { std::free(data); }
  Column(const Column&) = delete;
  Column& operator=(const Column&) = delete;
  T* data;
};

struct Memory {
  Column<double> r{large}, t{large}, ur{large}, ut{large}, out{large}, u{large};
  Column<std::int8_t> status{large};
  Memory() {
    std::uint64_t state = 1;
    const auto next = [&state] {
      state = state * 6364136223846793005U + 1442695040888963407U;
      return static_cast<double>(state >> 11) * 0x1p-53;
    };
    for (std::size_t i = 0; i < large; ++i) {
      r.data[i] = 1e6 * (1 + 1000 * next());
      t.data[i] = -10 + 60 * next();
      ur.data[i] = 0.05 * next();
      ut.data[i] = 3 * next();
      if (i % 400 == 17) r.data[i] = ohmward::nan;
      if (i % 400 == 117) t.data[i] = ohmward::nan;
      if (i % 400 == 217) r.data[i] = -1;
    }
  }
};

using Range = std::function<void(std::size_t first, std::size_t last)>;

struct Measurement {
  std::string name;
  Range run;
  double in_cache = 1e9, one = 1e9, two = 1e9;
};

double seconds(const std::function<void()>& work) {
  const auto start = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

void measure(std::vector<Measurement>& all, int repetitions) {
  for (int repetition = 0; repetition < repetitions; ++repetition)
    for (Measurement& m : all) {
      constexpr int often = 400;
      const auto cached = [&] {
        for (int i = 0; i < often; ++i) m.run(0, small);
      };
      m.in_cache = std::min(m.in_cache, seconds(cached) / (often * double{small}) * 1e9);
      const auto with = [&](int threads) {
        return seconds([&] { numerics::in_parallel(large, threads, m.run); }) / double{large} * 1e9;
      };
      m.one = std::min(m.one, with(1));
      m.two = std::min(m.two, with(2));
    }
}

void print(const std::vector<Measurement>& all, const Measurement& yardstick) {
  for (const Measurement& m : all)
    std::printf("%-34s %7.2f   %7.2f (%4.2f)   %7.2f (%4.2f)\n", m.name.c_str(), m.in_cache, m.one,
                m.one / yardstick.one, m.two, m.two / yardstick.two);
}

}  // namespace

int main(int argc, char** argv) {
  const int repetitions = argc > 1 ? std::atoi(argv[1]) : 15;
  Memory m;
  const double* const in[] = {m.r.data, m.t.data, m.ur.data, m.ut.data};
  const auto at = [&](std::size_t first) {
    return std::array{in[0] + first, in[1] + first, in[2] + first, in[3] + first};
  };
  const formula::Halving halving{.step_kelvin = 10, .reference_celsius = 40, .low_celsius = 0, .high_celsius = 60};

  for (const InstructionLevel level :
       {InstructionLevel::baseline, InstructionLevel::x86_64_v3, InstructionLevel::x86_64_v4}) {
    if (!numerics::supported(level)) continue;
    std::vector<Measurement> two_in{{"a*b", [&](std::size_t a, std::size_t b) {
                                       benchmarks::multiply(b - a, m.r.data + a, m.t.data + a, m.out.data + a);
                                     }}};
    std::vector<Measurement> one_in{
        {"a+1", [&](std::size_t a, std::size_t b) { benchmarks::copy(b - a, m.r.data + a, m.out.data + a); }}};
    std::vector<Measurement> fused{{"4 in, 2 out, 1 byte", [&](std::size_t a, std::size_t b) {
                                      benchmarks::four_in_two_out(b - a, at(a).data(), m.out.data + a, m.u.data + a,
                                                                  m.status.data + a);
                                    }}};
    const auto add = [&](std::vector<Measurement>& to, const numerics::Elementwise& f, std::vector<double> parameters,
                         bool exchange) {
      to.push_back({f.name, [&m, &f, exchange, parameters](std::size_t a, std::size_t b) {
                      const double* const inputs[] = {(exchange ? m.t.data : m.r.data) + a, m.t.data + a};
                      f.value(b - a, inputs, parameters.data(), m.out.data + a);
                    }});
    };
    const auto functions = numerics::functions(level);
    for (const auto& f : functions) add(one_in, f, {-0.731}, std::string(f.name).starts_with("exp"));
    const auto formulas = formula::formulas(level);
    add(two_in, formulas[0], {10, 40, 0, 60}, false);
    add(two_in, formulas[1], {1245, 4230, 40, 273, 40, 10, 85}, false);
    add(two_in, formulas[2], {0.7, 40, 0, 60}, false);
    add(two_in, formulas[3], {234.5, 20, 0, 60}, false);
    two_in.push_back({"halving_to_reference status", [&](std::size_t a, std::size_t b) {
                        const double parameters[] = {10, 40, 0, 60};
                        formulas[0].status(b - a, at(a).data(), parameters, m.status.data + a);
                      }});
    fused.push_back({"value + u + status, halving", [&](std::size_t a, std::size_t b) {
                       const std::size_t n = b - a;
                       const auto x = at(a);
                       formula::to_reference(
                           {{x[0], n}, {x[1], n}, {x[2], n}, {x[3], n}}, halving,
                           {{m.out.data + a, n}, {m.u.data + a, n}, {reinterpret_cast<Status*>(m.status.data + a), n}},
                           {.threads = 1, .level = level});
                     }});
    fused.push_back({"value + u + status, IEEE 43", [&](std::size_t a, std::size_t b) {
                       const std::size_t n = b - a;
                       const auto x = at(a);
                       formula::to_reference(
                           {{x[0], n}, {x[1], n}, {x[2], n}, {x[3], n}}, formula::thermosetting_ieee_43,
                           {{m.out.data + a, n}, {m.u.data + a, n}, {reinterpret_cast<Status*>(m.status.data + a), n}},
                           {.threads = 1, .level = level});
                     }});
    std::printf("%-34s %7s   %7s %6s   %7s %6s\n", numerics::text(level), "1024", "1e7, 1", "", "1e7, 2", "[ns]");
    for (auto* group : {&one_in, &two_in, &fused}) {
      measure(*group, repetitions);
      print(*group, group->front());
    }
  }
}
