// The session sheet: one lifter's session set by set, to be read at arm's length and filled in with a pencil.
#pragma once

#include <string>
#include <vector>

#include "service/documents/document.h"
#include "service/documents/vessel.h"

namespace ullage::documents {

struct SheetSet {
  int number = 0;    // among the work sets
  std::string load;  // "47.5 kg"
  int reps = 0;      // at most
  bool to_failure = false;
  std::string cue;          // what ends it: "stop when you would call 2, about rep 7; at most 8"
  std::string rest_before;  // "3:00"; empty where the rest is the same for all
  Vessel vessel;
  std::string leaves;  // "leaves 2 (1-4)", for who cannot see the drawing
};

struct SheetBar {
  std::string load;           // for which it is drawn
  std::vector<Plate> plates;  // one side, from the inside out
  std::string words;          // "10 + 2.5 + 1.25 a side"
};

struct SheetExercise {
  std::string name;     // with the side
  std::string aim;      // "end with 2 to 4 in reserve"
  std::string warm_up;  // one line; may be empty
  std::vector<SheetSet> sets;
  std::vector<SheetBar> bars;  // one for each load of the work sets that is put together from plates
  std::string rest;            // "rest 3:00 between sets, 12 minutes in all"
  std::string why;
  std::vector<std::string> remarks;
};

struct SessionSheetPage {
  std::string lifter;
  std::string when;                // "Thu 26 Nov 2026, boathouse, about 52 minutes"
  std::vector<std::string> notes;  // above the exercises: what is left out and why, sets done already
  std::vector<SheetExercise> exercises;
  std::vector<std::string> cautions;
};

Part session_sheet(const SessionSheetPage& sheet);

}  // namespace ullage::documents
