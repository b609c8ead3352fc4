#include "service/library/names.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <utility>

namespace ullage::library {
namespace {

using Pair = std::pair<std::string_view, std::string_view>;

// Short and slipped spellings of single words.
constexpr std::array<Pair, 9> kSameWord{{{"db", "dumbbell"},
                                         {"dumbell", "dumbbell"},
                                         {"dumbel", "dumbbell"},
                                         {"bb", "barbell"},
                                         {"barbel", "barbell"},
                                         {"kb", "kettlebell"},
                                         {"kettlebel", "kettlebell"},
                                         {"flye", "fly"},
                                         {"bw", "bodyweight"}}};

// Two words that are also written as one.
constexpr std::array<Pair, 19> kOneWord{{{"pull", "up"},
                                         {"pull", "down"},
                                         {"pull", "over"},
                                         {"chin", "up"},
                                         {"press", "up"},
                                         {"press", "down"},
                                         {"push", "up"},
                                         {"push", "down"},
                                         {"sit", "up"},
                                         {"step", "up"},
                                         {"kick", "back"},
                                         {"dead", "lift"},
                                         {"roll", "out"},
                                         {"cross", "over"},
                                         {"good", "morning"},
                                         {"skull", "crusher"},
                                         {"wood", "chop"},
                                         {"face", "pull"},
                                         {"body", "weight"}}};

bool small_word(std::string_view word) {
  return word == "the" || word == "a" || word == "with" || word == "on" || word == "of" || word == "and";
}

void drop_plural(std::string& word) {
  const std::size_t n = word.size();
  if (n < 3 || word[n - 1] != 's' || word[n - 2] == 's') return;
  const auto ends = [&](std::string_view end) { return n > end.size() && std::string_view(word).ends_with(end); };
  if (n > 4 && ends("ies")) {
    word.replace(n - 3, 3, "y");
  } else if (ends("sses") || ends("shes") || ends("ches") || ends("xes")) {
    word.resize(n - 2);
  } else {
    word.resize(n - 1);
  }
}

}  // namespace

std::vector<std::string> plain_words(std::string_view text) {
  std::vector<std::string> words;
  words.reserve(6);
  std::string word;
  const auto finish = [&] {
    if (word.empty()) return;
    drop_plural(word);
    if (!small_word(word)) {
      for (const auto& [from, to] : kSameWord) {
        if (word == from) {
          word = to;
          break;
        }
      }
      bool merged = false;
      if (!words.empty()) {
        for (const auto& [first, second] : kOneWord) {
          if (word == second && words.back() == first) {
            words.back() += word;
            merged = true;
            break;
          }
        }
      }
      if (!merged) words.push_back(word);
    }
    word.clear();
  };
  for (const char c : text) {
    const auto u = static_cast<unsigned char>(c);
    if (u >= 0x80 || std::isalnum(u)) {
      word += static_cast<char>(u < 0x80 ? std::tolower(u) : u);
    } else if (c == '\'') {
      continue;
    } else {
      finish();
    }
  }
  finish();
  return words;
}

std::string joined(const std::vector<std::string>& words) {
  std::string out;
  for (const std::string& word : words) out += word;
  return out;
}

std::string sorted_words(std::vector<std::string> words) {
  std::sort(words.begin(), words.end());
  std::string out;
  for (const std::string& word : words) {
    if (!out.empty()) out += ' ';
    out += word;
  }
  return out;
}

double letter_likeness(std::string_view a, std::string_view b) {
  constexpr std::size_t kLongest = 80;
  a = a.substr(0, kLongest);
  b = b.substr(0, kLongest);
  if (a.empty() || b.empty()) return a.empty() && b.empty() ? 1.0 : 0.0;
  std::array<std::array<int, kLongest + 1>, 3> row;  // before the last, last, this
  std::size_t old = 0, last = 1, now = 2;
  for (std::size_t j = 0; j <= b.size(); ++j) row[last][j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[now][0] = static_cast<int>(i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      int edits = row[last][j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      edits = std::min({edits, row[last][j] + 1, row[now][j - 1] + 1});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) edits = std::min(edits, row[old][j - 2] + 1);
      row[now][j] = edits;
    }
    const std::size_t spare = old;
    old = last;
    last = now;
    now = spare;
  }
  return 1.0 - row[last][b.size()] / static_cast<double>(std::max(a.size(), b.size()));
}

double word_likeness(const std::vector<std::string>& a, const std::vector<std::string>& b) {
  if (a.empty() || b.empty()) return 0;
  const auto one_way = [](const std::vector<std::string>& from, const std::vector<std::string>& to) {
    double sum = 0;
    for (const std::string& word : from) {
      double best = 0;
      for (const std::string& other : to) best = std::max(best, word == other ? 1.0 : letter_likeness(word, other));
      if (best >= 0.7) sum += best;
    }
    return sum;
  };
  return (one_way(a, b) + one_way(b, a)) / static_cast<double>(a.size() + b.size());
}

}  // namespace ullage::library
