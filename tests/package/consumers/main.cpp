// A program outside the project that uses the library: a header-only part and a compiled one.
#include <ohmward/core/checked.hpp>
#include <ohmward/core/errors.hpp>
#include <string_view>

int main() {
  const ohmward::Checked<double> nothing = ohmward::no_value(ohmward::Status::missing_input);
  const ohmward::InvalidParameter error("step_kelvin", -1.0, "more than 0");
  const bool said = std::string_view(error.what()) == "step_kelvin is -1, expected more than 0";
  return said && !nothing.has_value() ? 0 : 1;
}
