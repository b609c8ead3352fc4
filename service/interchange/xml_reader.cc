#include "service/interchange/xml_reader.h"

#include <algorithm>
#include <cstring>

#include "service/interchange/utf8.h"

namespace ullage::interchange {
namespace {

constexpr std::size_t kBuffer = 256 << 10;

bool blank(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }

std::string_view local(std::string_view name) {
  std::size_t colon = 0;  // names are short: a loop is quicker than a call
  while (colon < name.size() && name[colon] != ':') ++colon;
  return colon == name.size() ? name : name.substr(colon + 1);
}

}  // namespace

XmlReader::XmlReader(Source source) : source_(std::move(source)), buffer_(kBuffer) {}

// Brings more bytes behind those not yet used; false at the end or on an error.
bool XmlReader::fill() {
  if (at_end_ || !state_) return false;
  if (at_ > 0) {
    std::memmove(buffer_.data(), buffer_.data() + at_, end_ - at_);
    end_ -= at_;
    at_ = 0;
  }
  if (end_ == buffer_.size()) buffer_.resize(buffer_.size() * 2);
  const auto count = source_(buffer_.data() + end_, buffer_.size() - end_);
  if (!count) {
    state_ = tl::unexpected<Error>(count.error());
    return false;
  }
  at_end_ = *count == 0;
  end_ += *count;
  return *count > 0;
}

Result<XmlReader::Event> XmlReader::broken(const char* what) {
  if (state_) state_ = fail(Code::invalid_input, what);
  return tl::unexpected<Error>(state_.error());
}

bool XmlReader::unescape(std::string_view raw, std::string& out) const {
  out.clear();
  for (std::size_t i = 0; i < raw.size();) {
    if (raw[i] != '&') {
      const std::size_t next = std::min(raw.find('&', i), raw.size());
      out.append(raw.substr(i, next - i));
      i = next;
      continue;
    }
    const std::size_t end = raw.find(';', i);
    if (end == std::string_view::npos || end - i > 12) return false;
    const std::string_view name = raw.substr(i + 1, end - i - 1);
    i = end + 1;
    if (name == "amp") {
      out += '&';
    } else if (name == "lt") {
      out += '<';
    } else if (name == "gt") {
      out += '>';
    } else if (name == "quot") {
      out += '"';
    } else if (name == "apos") {
      out += '\'';
    } else if (name.size() > 1 && name[0] == '#') {
      const bool hex = name[1] == 'x' || name[1] == 'X';
      char32_t value = 0;
      if (name.size() == (hex ? 2u : 1u)) return false;
      for (const char c : name.substr(hex ? 2 : 1)) {
        int digit = -1;
        if (c >= '0' && c <= '9') digit = c - '0';
        if (hex && c >= 'a' && c <= 'f') digit = c - 'a' + 10;
        if (hex && c >= 'A' && c <= 'F') digit = c - 'A' + 10;
        if (digit < 0 || value > 0x10FFFF) return false;
        value = value * (hex ? 16 : 10) + static_cast<char32_t>(digit);
      }
      if (value == 0 || value > 0x10FFFF || (value >= 0xD800 && value <= 0xDFFF)) return false;
      append_utf8(out, value);
    } else {
      return false;
    }
  }
  return true;
}

const std::string_view* XmlReader::find(std::string_view name) const {
  for (const auto& [key, value] : attributes_) {
    if (key == name) return &value;
  }
  return nullptr;
}

std::optional<std::string> XmlReader::attribute(std::string_view name) const {
  const std::string_view* raw = find(name);
  if (raw == nullptr) return std::nullopt;
  std::string value;
  if (!unescape(*raw, value)) return std::string();
  if (first_invalid_utf8(value) != std::string_view::npos) return std::string();
  return value;
}

std::string_view XmlReader::plain_attribute(std::string_view name) const {
  const std::string_view* raw = find(name);
  return raw == nullptr ? std::string_view() : *raw;
}

Result<XmlReader::Event> XmlReader::next() {
  if (!state_) return tl::unexpected<Error>(state_.error());
  if (pop_next_) {
    pop_next_ = false;
    open_names_.resize(opened_.back());
    opened_.pop_back();
    --depth_;
  }
  if (close_next_) {
    close_next_ = false;
    pop_next_ = true;
    return Event::end;
  }
  for (;;) {
    if (at_ == end_ && !fill()) {
      if (!state_) return tl::unexpected<Error>(state_.error());
      if (depth_ > 0 || !seen_root_) return broken("ends before its last element is closed");
      return Event::end_of_text;
    }
    if (buffer_[at_] == '<') {
      auto event = read_tag();
      if (!event || *event != Event::end_of_text) return event;  // end_of_text: something to pass over
      continue;
    }
    std::size_t size = 0;
    for (;;) {
      const void* found = std::memchr(buffer_.data() + at_ + size, '<', end_ - at_ - size);
      if (found != nullptr) {
        size = static_cast<std::size_t>(static_cast<const char*>(found) - (buffer_.data() + at_));
        break;
      }
      size = end_ - at_;
      if (size > kLongestText) return broken("holds more than 4 MB of text in one place");
      if (!fill()) break;
    }
    if (!state_) return tl::unexpected<Error>(state_.error());
    const std::string_view raw(buffer_.data() + at_, size);
    at_ += size;
    if (depth_ == 0) {
      std::string_view rest = raw;
      if (!seen_root_ && rest.substr(0, 3) == "\xEF\xBB\xBF") rest.remove_prefix(3);
      if (std::any_of(rest.begin(), rest.end(), [](char c) { return !blank(c); })) {
        return broken("is not XML in UTF-8");
      }
      continue;
    }
    text_ = raw;
    if (raw.find('&') != std::string_view::npos) {
      if (!unescape(raw, decoded_)) return broken("uses an entity that XML does not define");
      text_ = decoded_;
    }
    if (text_.find('\0') != std::string_view::npos || first_invalid_utf8(text_) != std::string_view::npos) {
      return broken("holds bytes that are not text in UTF-8");
    }
    return Event::text;
  }
}

// At '<'. Comments and instructions are passed over: end_of_text says so.
Result<XmlReader::Event> XmlReader::read_tag() {
  const auto have = [&](std::size_t count) {
    while (end_ - at_ < count) {
      if (!fill()) return false;
    }
    return true;
  };
  const auto starts = [&](std::string_view with) {
    return have(with.size()) && std::string_view(buffer_.data() + at_, with.size()) == with;
  };
  // Passes over everything up to and with `until`; with `keep`, what lies before stays in decoded_.
  const auto pass = [&](std::string_view until, bool keep) {
    if (keep) decoded_.clear();
    for (;;) {
      const std::string_view held(buffer_.data() + at_, end_ - at_);
      const std::size_t found = held.find(until);
      const std::size_t done =
          found != std::string_view::npos ? found : held.size() - std::min(held.size(), until.size() - 1);
      if (keep) decoded_.append(held.substr(0, done));
      at_ += done;
      if (found != std::string_view::npos) {
        at_ += until.size();
        return true;
      }
      if (decoded_.size() > kLongestText || !fill()) return false;
    }
  };
  const bool plain = have(2) && buffer_[at_ + 1] != '?' && buffer_[at_ + 1] != '!';
  if (!plain && starts("<?")) {
    if (!pass("?>", true)) return broken("ends inside an instruction");
    if (decoded_.compare(0, 6, "<?xml ") == 0) {
      const std::size_t at = decoded_.find("encoding");
      if (at != std::string::npos) {
        const std::size_t quote = decoded_.find_first_of("\"'", at);
        std::string name;
        for (std::size_t i = quote + 1;
             quote != std::string::npos && i < decoded_.size() && decoded_[i] != decoded_[quote]; ++i) {
          name += static_cast<char>(decoded_[i] >= 'A' && decoded_[i] <= 'Z' ? decoded_[i] + 32 : decoded_[i]);
        }
        if (name != "utf-8" && name != "us-ascii") return broken("is XML in another encoding than UTF-8");
      }
    }
    return Event::end_of_text;
  }
  if (!plain && starts("<!--")) {
    at_ += 4;
    decoded_.clear();
    if (!pass("-->", false)) return broken("ends inside a comment");
    return Event::end_of_text;
  }
  if (!plain && starts("<![CDATA[")) {
    at_ += 9;
    if (depth_ == 0 || !pass("]]>", true)) return broken("ends inside a text");
    if (decoded_.find('\0') != std::string::npos || first_invalid_utf8(decoded_) != std::string_view::npos) {
      return broken("holds bytes that are not text in UTF-8");
    }
    text_ = decoded_;
    return Event::text;
  }
  if (!plain && starts("<!")) return broken("declares a document type, which may hide entities");
  // The end of the tag: the first '>' outside quotes.
  std::size_t size = 1;
  char quote = 0;
  for (;; ++size) {
    if (at_ + size == end_ && !fill()) {
      if (!state_) return tl::unexpected<Error>(state_.error());
      return broken("ends inside a tag");
    }
    const char c = buffer_[at_ + size];
    if (quote != 0) {
      if (c == quote) quote = 0;
    } else if (c == '"' || c == '\'') {
      quote = c;
    } else if (c == '>') {
      break;
    } else if (c == '<') {
      return broken("has a tag inside a tag");
    }
    if (size > kLongestTag) return broken("has a tag of more than 1 MB");
  }
  std::string_view tag(buffer_.data() + at_ + 1, size - 1);
  at_ += size + 1;
  if (tag.substr(0, 1) == "/") {
    tag.remove_prefix(1);
    while (!tag.empty() && blank(tag.back())) tag.remove_suffix(1);
    if (depth_ == 0 || std::string_view(open_names_).substr(opened_.back()) != tag) {
      return broken("closes an element that is not open");
    }
    name_ = local(tag);
    pop_next_ = true;
    return Event::end;
  }
  close_next_ = !tag.empty() && tag.back() == '/';
  if (close_next_) tag.remove_suffix(1);
  std::size_t i = 0;
  while (i < tag.size() && !blank(tag[i])) ++i;
  const std::string_view full = tag.substr(0, i);
  const auto no_name = [](char c) { return c == '"' || c == '\'' || c == '=' || c == '&'; };
  if (full.empty() || std::any_of(full.begin(), full.end(), no_name)) return broken("has an element without a name");
  if (depth_ == 0 && seen_root_) return broken("has more than one outermost element");
  seen_root_ = true;
  attributes_.clear();
  for (;;) {
    while (i < tag.size() && blank(tag[i])) ++i;
    if (i == tag.size()) break;
    const std::size_t begin = i;
    while (i < tag.size() && tag[i] != '=' && !blank(tag[i])) ++i;
    const std::string_view key = tag.substr(begin, i - begin);
    while (i < tag.size() && blank(tag[i])) ++i;
    if (key.empty() || i == tag.size() || tag[i] != '=') return broken("has an attribute without a value");
    ++i;
    while (i < tag.size() && blank(tag[i])) ++i;
    if (i == tag.size() || (tag[i] != '"' && tag[i] != '\'')) return broken("has an attribute without quotes");
    const std::size_t end = tag.find(tag[i], i + 1);
    if (end == std::string_view::npos) return broken("has an attribute without quotes");
    attributes_.emplace_back(local(key), tag.substr(i + 1, end - i - 1));
    i = end + 1;
    if (attributes_.size() > 256) return broken("has an element with more than 256 attributes");
  }
  if (++depth_ > kDeepest) return broken("has more than 200 elements inside each other");
  opened_.push_back(open_names_.size());
  open_names_ += full;
  name_ = local(full);
  return Event::start;
}

Result<void> XmlReader::skip_element() {
  const std::size_t target = depth_;
  for (;;) {
    const auto event = next();
    if (!event) return tl::unexpected<Error>(event.error());
    if (*event == Event::end && depth_ == target) return {};
    if (*event == Event::end_of_text) return {};
  }
}

}  // namespace ullage::interchange
