#include "readings/csv.hpp"

namespace ohmward::readings {

bool CsvReader::at_cell_end() const noexcept {
  const char c = text_[at_];
  return c == separator_ || c == '\n' || c == '\r';
}

std::string_view CsvReader::read_quoted() {
  const std::int64_t opened = line_;
  const std::size_t begin = ++at_;
  std::size_t piece = begin;
  std::string* doubled = nullptr;
  while (at_ < text_.size()) {
    const char c = text_[at_];
    if (c == '"') {
      const bool is_doubled = at_ + 1 < text_.size() && text_[at_ + 1] == '"';
      if (!is_doubled) break;
      if (doubled == nullptr) doubled = &unquoted_.emplace_back();
      doubled->append(text_.substr(piece, at_ + 1 - piece));
      piece = at_ + 2;
      ++at_;
    } else if (c == '\n' || (c == '\r' && (at_ + 1 == text_.size() || text_[at_ + 1] != '\n'))) {
      ++line_;
    }
    ++at_;
  }
  if (at_ >= text_.size()) throw UnclosedQuote{opened};
  const std::size_t end = at_++;
  while (at_ < text_.size() && !at_cell_end()) {
    text_after_quote_ = true;
    ++at_;
  }
  if (doubled == nullptr) return text_.substr(begin, end - begin);
  doubled->append(text_.substr(piece, end - piece));
  return *doubled;
}

std::string_view CsvReader::read_cell() {
  if (at_ < text_.size() && text_[at_] == '"') return read_quoted();
  const std::size_t begin = at_;
  while (at_ < text_.size() && !at_cell_end()) ++at_;
  return text_.substr(begin, at_ - begin);
}

void CsvReader::take_line_end() noexcept {
  if (at_ >= text_.size()) return;
  if (text_[at_] == '\r' && at_ + 1 < text_.size() && text_[at_ + 1] == '\n') ++at_;
  ++at_;
  ++line_;
}

void CsvReader::read_record() {
  cells_.clear();
  unquoted_.clear();
  text_after_quote_ = false;
  record_line_ = line_;
  const std::size_t begin = at_;
  while (true) {
    cells_.push_back(read_cell());
    if (at_ >= text_.size() || text_[at_] != separator_) break;
    ++at_;
  }
  record_ = text_.substr(begin, at_ - begin);
  take_line_end();
}

bool CsvReader::next() {
  while (at_ < text_.size()) {
    read_record();
    if (!record_.empty()) return true;
  }
  return false;
}

}  // namespace ohmward::readings
