// Reads XML piece by piece, for parts of workbooks: no document is held, nothing outside the text is ever fetched.
//
// Elements and attributes are called by their local names (what stands after a colon). Document type declarations, and
// with them entities of one's own, are refused; the five entities of XML and character numbers are understood.
//
//   XmlReader xml(source);
//   while (*xml.next() != XmlReader::Event::end_of_text) if (xml.name() == "row") use(xml.attribute("r"));
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/base/result.h"

namespace ullage::interchange {

class XmlReader {
 public:
  // Puts up to `size` bytes into the buffer; the number put there, 0 at the end.
  using Source = std::function<Result<std::size_t>(char*, std::size_t)>;
  enum class Event { start, end, text, end_of_text };

  static constexpr std::size_t kLongestTag = 1 << 20;   // bytes
  static constexpr std::size_t kLongestText = 4 << 20;  // bytes between two tags
  static constexpr std::size_t kDeepest = 200;          // elements inside each other

  explicit XmlReader(Source source);

  // The next start or end of an element, or text between them. Error: invalid_input for text that is no
  // well-formed XML in UTF-8, one line; or what the source says.
  Result<Event> next();

  // Of the element at start and end; valid until next().
  std::string_view name() const { return name_; }
  // At start: the value with entities put in; empty optional when there is none.
  std::optional<std::string> attribute(std::string_view name) const;
  // The same without copying, for values that hold no entity; "" when there is none.
  std::string_view plain_attribute(std::string_view name) const;
  // At text, and whole: entities are put in.
  std::string_view text() const { return text_; }
  // How many elements are open; at start and end the element itself counts.
  std::size_t depth() const { return depth_; }
  // Passes over the rest of the element that was just started, with all that is in it.
  Result<void> skip_element();

 private:
  bool fill();
  Result<Event> broken(const char* what);
  Result<Event> read_tag();
  bool unescape(std::string_view raw, std::string& out) const;
  const std::string_view* find(std::string_view name) const;

  Source source_;
  std::vector<char> buffer_;
  std::size_t at_ = 0, end_ = 0;
  bool at_end_ = false;
  Result<void> state_;
  std::string_view name_, text_;
  std::string decoded_;
  std::vector<std::pair<std::string_view, std::string_view>> attributes_;
  std::string open_names_;           // names of the open elements, one after the other
  std::vector<std::size_t> opened_;  // where each begins
  std::size_t depth_ = 0;
  bool close_next_ = false;  // the element just started has no content
  bool pop_next_ = false;    // its end was told: it is closed at the next step
  bool seen_root_ = false;
};

}  // namespace ullage::interchange
