// Prints what the lower bound of isolation by voltmeter is worth:
//   cmake --build <build> --target print_isolation_bound && <build>/tests/cpp/highvoltage/print_isolation_bound
#include <cstdio>

#include "isolation_bound_law.hpp"

namespace {

void print(const char* title, ohmward::testing::Bins& bins, bool with_exact) {
  std::printf("  %s\n  %16s%10s%12s%12s%14s\n", title, "relative u", "cases", "held", "refused", "bound/exact");
  double from = 0;
  for (ohmward::testing::Bin& bin : bins) {
    std::printf("  %6.0f ... %3.0f %%%10ld%11.2f %%%11.2f %%", 100 * from, 100 * bin.below, bin.cases,
                100 * bin.coverage(), 100 * bin.refusals());
    if (with_exact)
      std::printf("%14.4f\n", bin.median_of_exact());
    else
      std::printf("%14s\n", "");
    from = bin.below;
  }
}

}  // namespace

int main() {
  for (const bool normal : {false, true}) {
    std::printf("%s errors\n", normal ? "normal" : "rectangular");
    ohmward::testing::IsolationBoundLaw law({.normal = normal}, 20261125);
    auto table = law.run(50000, 400, 100000);
    print("by the true circuit", table.by_circuit, true);
    print("by the stated uncertainty", table.by_statement, false);
    std::printf("  contradictions %ld\n\n", table.contradictions);
  }
}
