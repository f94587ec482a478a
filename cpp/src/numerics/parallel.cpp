#include "ohmward/numerics/parallel.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <system_error>
#include <thread>
#include <vector>

#include "ohmward/core/errors.hpp"

namespace ohmward::numerics::threading {
namespace {

/// Hands out ranges until there are none left or one has failed.
class Ranges {
 public:
  Ranges(std::size_t size, std::size_t grain, RangeTask task, const void* context)
      : size_(size), grain_(grain), task_(task), context_(context) {}

  void work() noexcept {
    for (;;) {
      const std::size_t first = next_.fetch_add(grain_, std::memory_order_relaxed);
      if (first >= size_) return;
      try {
        task_(context_, first, std::min(size_, first + grain_));
      } catch (...) {
        next_.store(size_, std::memory_order_relaxed);
        const std::scoped_lock lock(mutex_);
        if (!failure_) failure_ = std::current_exception();
      }
    }
  }

  void rethrow() const {
    if (failure_) std::rethrow_exception(failure_);
  }

 private:
  std::size_t size_;
  std::size_t grain_;
  RangeTask task_;
  const void* context_;
  std::atomic<std::size_t> next_{0};
  std::mutex mutex_;
  std::exception_ptr failure_;
};

}  // namespace

void run_ranges(std::size_t size, int threads, std::size_t grain, RangeTask task, const void* context) {
  if (threads < 0) throw InvalidParameter("threads", threads, "0 for all cores, or a number of threads");
  if (threads == 1 || size <= grain) {  // asking for the number of cores costs microseconds
    if (size > 0) task(context, 0, size);
    return;
  }
  const std::size_t cores = std::max(1U, std::thread::hardware_concurrency());
  const std::size_t wanted = threads == 0 ? cores : static_cast<std::size_t>(threads);
  const std::size_t useful = std::max<std::size_t>(1, (size + grain - 1) / grain);
  Ranges ranges(size, grain, task, context);
  std::vector<std::jthread> helpers;
  try {
    for (std::size_t i = 1; i < std::min(wanted, useful); ++i) helpers.emplace_back([&ranges] { ranges.work(); });
  } catch (const std::system_error&) {  // NOLINT(bugprone-empty-catch)
    // The system has no more threads: those that run, and this one, do the work.
  }
  ranges.work();
  helpers.clear();  // joins
  ranges.rethrow();
}

}  // namespace ohmward::numerics::threading
