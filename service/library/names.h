// How written exercise names are compared: which differences do not matter, and how near two names are.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace ullage::library {

// The words of a name in one plain spelling: lower case, split at anything that is no letter, digit or
// byte of another alphabet, without plural s, "db" read as "dumbbell", "pull up" as "pullup", and
// without small words such as "with". Cost: linear.
std::vector<std::string> plain_words(std::string_view text);
// The words joined, in the order given.
std::string joined(const std::vector<std::string>& words);
// The words sorted and joined with blanks.
std::string sorted_words(std::vector<std::string> words);

// 1 - edits / length of the longer, edits being single letters added, left out, changed or two
// neighbours swapped; 0..1. Cost: product of the lengths.
double letter_likeness(std::string_view a, std::string_view b);
// Share of words in common, each word matched to its likest (counted from 0.7 up); 0..1.
double word_likeness(const std::vector<std::string>& a, const std::vector<std::string>& b);

}  // namespace ullage::library
