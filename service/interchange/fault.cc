#include "service/interchange/fault.h"

#include "service/interchange/utf8.h"

namespace ullage::interchange {

std::string printable(std::string_view text, std::size_t limit) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t length = utf8_length(text, at);
    if (out.size() + 4 > limit && at + length < text.size()) return out + "...";
    const auto byte = static_cast<unsigned char>(text[at]);
    if (length == 0) {
      out += kReplacement;
    } else if (byte < 0x20 || byte == 0x7F) {
      out += ' ';
    } else {
      out += text.substr(at, length);
    }
    at += length == 0 ? 1 : length;
  }
  return out;
}

std::string in_quotes(std::string_view text, std::size_t limit) {
  return std::string(1, '"').append(printable(text, limit)).append(1, '"');
}

std::string fault_text(const Fault& fault) {
  std::string text;
  if (!fault.place.empty()) {
    text += printable(fault.place, 120);
  } else if (fault.line > 0) {
    text += "line " + std::to_string(fault.line);
  }
  if (!fault.column.empty()) {
    if (!text.empty()) text += ", ";
    text += "column " + printable(fault.column);
  }
  if (!text.empty()) text += ": ";
  if (!fault.problem.empty()) return text + fault.problem;
  return text + "\"" + printable(fault.value) + "\" is not " + fault.expected;
}

}  // namespace ullage::interchange
