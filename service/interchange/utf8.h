// UTF-8 as RFC 3629 has it: no overlong forms, no surrogates, nothing above U+10FFFF.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace ullage::interchange {

inline constexpr std::string_view kReplacement = "\xEF\xBF\xBD";  // U+FFFD

// Bytes of the character that begins at `at`; 0 when none does.
std::size_t utf8_length(std::string_view text, std::size_t at);
// Place of the first byte that is not part of a character; npos when all are.
std::size_t first_invalid_utf8(std::string_view text);
void append_utf8(std::string& text, char32_t character);

}  // namespace ullage::interchange
