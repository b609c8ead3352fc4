// What the program says, in another language, by patterns: [English, other language]. The page has the same way for the
// same patterns (web/src/text/said/matcher.ts); a test holds the two together.
//
//   german().say("stop when you would call 2")   // "hör auf, wenn du 2 sagen würdest"
//   german().say("nothing we ever say")          // nothing: no pattern fits
//
// A place in a pattern is named in braces, and the first letter of its name says what stands there:
//   n number             12.5; in the other language {n:Satz|Sätze} is the word for one, or more
//   p share              12 %, under 1 %, over 99 %
//   q quantity           any text; the numbers and units in it are written as the other language does
//   d day                2026-03-09
//   g day of a paper     Mon 9 Mar 2026
//   w weekday, m muscle
//   t text               said by the patterns in turn; without one for it this pattern does not fit
//   y text               said by the patterns in turn, or left as it is (what people wrote)
//   c list               its parts (", ") one by one, like y
//   x text               left as it is (names)
//   o own name           like x, but nothing that is a sentence
//   k piece              like x, without a colon
//   f field              a name of lower-case letters, as the interface has them; left as it is
// "(s)" in the English is an s or none. Several sentences in a row, lines, or parts with "; " between, are said one by
// one where each of them can be, so that no place swallows a sentence; else as a whole.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "engine/base/result.h"

namespace ullage::words {

// What a language writes in the places.
struct Writing {
  char decimal = '.';
  std::string (*day)(std::string_view iso) = nullptr;            // "2026-03-09"
  std::string (*paper_day)(std::string_view english) = nullptr;  // "9 Mar 2026"; its weekday goes before it
  std::map<std::string, std::string, std::less<>> weekdays;      // by "Mon"
  std::map<std::string, std::string, std::less<>> muscles;
  std::vector<std::pair<std::string, std::string>> words;  // whole words within shares and quantities
};

class Patterns {
 public:
  using Pair = std::pair<std::string, std::string>;
  // Where two patterns fit, the one with more words of its own goes first, then the earlier one.
  Patterns(const std::vector<Pair>& pairs, Writing writing);

  // The text in the other language; nothing where no pattern fits, or the text has more than 4000 bytes. Every call
  // goes through all patterns: some 50 µs for one sentence.
  std::optional<std::string> say(std::string_view text) const;

 private:
  struct Piece {
    enum class Kind { fixed, maybe_s, place } kind = Kind::fixed;
    std::string text;        // fixed; or the word for one
    std::string more;        // or the word for more
    char what = 0;           // of a place
    std::size_t name = 0;    // of a place: which of the pattern's names
    bool by_number = false;  // {n:one|more}
  };
  struct Pattern {
    std::vector<Piece> english, other;
    std::size_t names = 0, weight = 0, place = 0;
    std::vector<char> kinds;  // of each name
  };
  using Captures = std::vector<std::string_view>;
  // What was said of the parts of one text: with patterns within patterns the same part comes up again and again.
  using Known = std::map<std::string_view, std::optional<std::string>>;

  std::optional<std::string> say(std::string_view text, Known& known) const;
  std::optional<std::string> in_parts(std::string_view text, Known& known) const;
  std::optional<std::string> by_pattern(std::string_view text, Known& known) const;
  std::optional<std::string> filled(const Pattern& pattern, const Captures& found, Known& known) const;
  std::optional<std::string> part(char kind, std::string_view value, Known& known) const;
  std::string quantity(std::string_view text) const;
  static Pattern compiled(const Pair& pair);
  static bool fits(const Pattern& pattern, std::size_t piece, std::string_view text, std::size_t at, bool greedy,
                   Captures& found, int& steps);

  std::vector<Pattern> patterns_;
  Writing writing_;
};

// German, with the patterns of data/words. Made once, when first wanted.
const Patterns& german();

}  // namespace ullage::words
