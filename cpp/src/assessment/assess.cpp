#include "ohmward/assessment/assess.hpp"

#include <algorithm>
#include <cmath>
#include <thread>

#include "assessment/current.hpp"
#include "assessment/row_judge.hpp"

namespace ohmward::assessment {
namespace {

Findings marks_of(std::span<const std::uint64_t> marks, std::size_t row) noexcept {
  return marks.empty() ? Findings{} : Findings{marks[row]};
}

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

}  // namespace

Results assess(const readings::Table& table, const Context& context, std::span<const std::uint64_t> marks) {
  const RowJudge judge(table, context);
  Results results;
  resize(results, table.rows());
  const auto judge_rows = [&](std::size_t begin, std::size_t end) {
    for (std::size_t row = begin; row < end; ++row) store(judge(row, marks_of(marks, row)), row, results);
  };
  const std::size_t threads = thread_count(context.settings.threads, table.rows());
  const std::size_t share = table.rows() / threads;
  {
    std::vector<std::jthread> others;
    for (std::size_t i = 1; i < threads; ++i)
      others.emplace_back(judge_rows, i * share, i + 1 == threads ? table.rows() : (i + 1) * share);
    judge_rows(0, threads == 1 ? table.rows() : share);
  }
  results.current = current_rows(table);
  return results;
}

RowAssessment assess_row(const readings::Table& table, std::size_t row, const Context& context,
                         std::span<const std::uint64_t> marks) {
  return RowJudge(table, context)(row, marks_of(marks, row));
}

}  // namespace ohmward::assessment
