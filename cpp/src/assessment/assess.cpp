#include "ohmward/assessment/assess.hpp"

#include <algorithm>
#include <cmath>
#include <thread>

#include "assessment/current.hpp"
#include "assessment/row_judge.hpp"

namespace ohmward::assessment {
namespace {

void resize(Results& results, std::size_t rows) {
  results.verdict.resize(rows);
  results.undecided.resize(rows);
  results.reason.resize(rows);
  results.findings.resize(rows);
  results.action.resize(rows);
  results.cause.resize(rows);
  results.status.resize(rows);
  results.censoring.resize(rows);
  results.value.resize(rows);
  results.standard_uncertainty.resize(rows);
  results.compared.resize(rows);
  results.compared_standard_uncertainty.resize(rows);
  results.acceptance.resize(rows);
  results.probability_of_conformity.resize(rows);
  results.limit.resize(rows);
  results.instrument.resize(rows);
  results.condition.resize(rows);
  results.charge_low.resize(rows);
  results.charge_median.resize(rows);
  results.charge_high.resize(rows);
}

void store(const RowAssessment& row, std::size_t index, Results& results) noexcept {
  const conformity::Judgement& judgement = row.judgement;
  results.verdict[index] = judgement.verdict;
  results.undecided[index] = judgement.undecided;
  results.reason[index] = judgement.reason;
  results.findings[index] = row.findings.bits();
  results.action[index] = row.action;
  results.cause[index] = row.cause;
  results.status[index] = row.compared.status;
  results.censoring[index] = row.measured.censoring;
  results.value[index] = row.measured.value;
  results.standard_uncertainty[index] = row.measured.standard_uncertainty();
  results.compared[index] = row.compared.value;
  results.compared_standard_uncertainty[index] = row.compared.standard_uncertainty();
  results.acceptance[index] =
      std::isnan(judgement.acceptance_lower) ? judgement.acceptance_upper : judgement.acceptance_lower;
  results.probability_of_conformity[index] = judgement.probability_of_conformity;
  results.limit[index] = row.limit;
  results.instrument[index] = row.instrument;
  results.condition[index] = row.condition;
  results.charge_low[index] = row.charge_low;
  results.charge_median[index] = row.charge_median;
  results.charge_high[index] = row.charge_high;
}

std::size_t thread_count(int wanted, std::size_t rows) noexcept {
  constexpr std::size_t rows_worth_a_thread = 16384;
  const std::size_t cores =
      wanted > 0 ? static_cast<std::size_t>(wanted) : std::max(1U, std::thread::hardware_concurrency());
  return std::clamp<std::size_t>(rows / rows_worth_a_thread, 1, cores);
}

/// From what decides last: a fail, what is open, a pass.
int severity(const Results& results, std::size_t index) noexcept {
  switch (results.verdict[index]) {
    case conformity::Verdict::fail: return 5;
    case conformity::Verdict::conditional_fail: return 4;
    case conformity::Verdict::undetermined: return 3;
    case conformity::Verdict::conditional_pass: return 2;
    case conformity::Verdict::pass: return 1;
    case conformity::Verdict::none: return 0;
  }
  return 0;
}

/// Where the worst of several readings decides, it counts in the place of the last.
void let_the_worst_count(const std::vector<std::vector<std::size_t>>& repeated, Results& results) {
  for (const std::vector<std::size_t>& rows : repeated) {
    const auto last = std::ranges::find_if(rows, [&](std::size_t row) { return results.current[row] != 0; });
    if (last == rows.end()) continue;
    const std::size_t worst = *std::ranges::min_element(rows, [&](std::size_t a, std::size_t b) {
      const int first = severity(results, a), second = severity(results, b);
      return first != second ? first > second
                             : results.probability_of_conformity[a] < results.probability_of_conformity[b];
    });
    results.current[*last] = 0;
    results.current[worst] = 1;
    results.findings[worst] |= Findings{Finding::repeat_combined}.bits();
  }
}

}  // namespace

Results assess(const readings::Table& table, const Context& context, const Screened& screened) {
  const RowJudge judge(table, context);
  const std::size_t rows = judge.rows();
  Results results;
  resize(results, rows);
  const auto judge_rows = [&](std::size_t begin, std::size_t end) {
    for (std::size_t row = begin; row < end; ++row) store(judge(row, screened), row, results);
  };
  const std::size_t threads = thread_count(context.settings.threads, rows);
  const std::size_t share = rows / threads;
  {
    std::vector<std::jthread> others;
    for (std::size_t i = 1; i < threads; ++i)
      others.emplace_back(judge_rows, i * share, i + 1 == threads ? rows : (i + 1) * share);
    judge_rows(0, threads == 1 ? rows : share);
  }
  results.derived = judge.derived();
  results.current = current_rows(table, judge.runs(), results.derived);
  let_the_worst_count(judge.worst_of(), results);
  return results;
}

RowAssessment assess_row(const readings::Table& table, std::size_t row, const Context& context,
                         const Screened& screened) {
  return RowJudge(table, context)(row, screened);
}

}  // namespace ohmward::assessment
