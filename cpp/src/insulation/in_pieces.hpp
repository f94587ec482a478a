#pragma once

#include <algorithm>
#include <atomic>
#include <cstddef>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace ohmward::insulation {

/// How many threads are worth starting for that many pieces of work; threads 0 means all cores.
[[nodiscard]] inline std::size_t workers_for(std::size_t count, unsigned threads) noexcept {
  const std::size_t wanted = threads != 0 ? threads : std::max(1U, std::thread::hardware_concurrency());
  return std::clamp<std::size_t>(wanted, 1, std::max<std::size_t>(count, 1));
}

/// Runs work(0) ... work(workers - 1), each in a thread of its own, the first in the caller's. The first exception is
/// thrown again in the caller.
template <class Work>
void in_threads(std::size_t workers, const Work& work) {
  std::exception_ptr failure;
  std::mutex guard;
  const auto guarded = [&](std::size_t worker) {
    try {
      work(worker);
    } catch (...) {
      const std::scoped_lock lock(guard);
      if (failure == nullptr) failure = std::current_exception();
    }
  };
  {
    std::vector<std::jthread> started;
    for (std::size_t worker = 1; worker < workers; ++worker)
      started.emplace_back([&guarded, worker] { guarded(worker); });
    guarded(0);
  }
  if (failure != nullptr) std::rethrow_exception(failure);
}

/// Runs work(begin, end) on pieces of [0, count), one a thread; threads 0 means all cores.
template <class Work>
void in_pieces(std::size_t count, unsigned threads, const Work& work) {
  const std::size_t pieces = workers_for(count, threads);
  in_threads(pieces, [&](std::size_t piece) { work(count * piece / pieces, count * (piece + 1) / pieces); });
}

/// Runs work(i) for every i of [0, count): whoever is free takes the next few, so that a busy core holds nobody up.
template <class Work>
void in_turns(std::size_t count, unsigned threads, const Work& work) {
  constexpr std::size_t few = 64;
  std::atomic<std::size_t> next{0};
  in_threads(workers_for((count + few - 1) / few, threads), [&](std::size_t) {
    for (std::size_t begin = next.fetch_add(few); begin < count; begin = next.fetch_add(few))
      for (std::size_t i = begin; i < std::min(count, begin + few); ++i) work(i);
  });
}

}  // namespace ohmward::insulation
