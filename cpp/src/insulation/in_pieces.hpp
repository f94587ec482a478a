#pragma once

#include <algorithm>
#include <cstddef>
#include <thread>
#include <vector>

namespace ohmward::insulation {

/// Runs work(begin, end) on pieces of [0, count), one a thread; threads 0 means all cores.
template <class Work>
void in_pieces(std::size_t count, unsigned threads, const Work& work) {
  const std::size_t wanted = threads != 0 ? threads : std::max(1U, std::thread::hardware_concurrency());
  const std::size_t pieces = std::clamp<std::size_t>(wanted, 1, std::max<std::size_t>(count, 1));
  std::vector<std::jthread> workers;
  for (std::size_t piece = 1; piece < pieces; ++piece)
    workers.emplace_back([&work, count, piece, pieces] { work(count * piece / pieces, count * (piece + 1) / pieces); });
  work(0, count / pieces);
}

}  // namespace ohmward::insulation
