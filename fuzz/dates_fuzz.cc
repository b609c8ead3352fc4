// Texts of dates: what is read is written back the same, whatever the bytes.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "engine/base/dates.h"
#include "engine/base/units.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  if (const auto date = ullage::parse_date(text)) {
    if (ullage::date_text(*date) != text) std::abort();
    const int day = ullage::weekday(*date);
    if (day < 1 || day > 7) std::abort();
  }
  if (const auto unit = ullage::parse_unit(text)) {
    if (ullage::parse_unit(ullage::unit_name(*unit)) != unit) std::abort();
  }
  return 0;
}
