#include "service/interchange/header_words.h"

#include <string>
#include <vector>

#include "service/interchange/cell_text.h"

namespace ullage::interchange {
namespace {

// What a header in plain words stands for. Common practice, no source.
struct HeaderWord {
  std::string_view words;
  LogColumn column;
  CellForm form = CellForm::plain;
  Part part = Part::log;
};
constexpr HeaderWord kHeaderWords[] = {
    {"athlete", LogColumn::lifter},
    {"client", LogColumn::lifter},
    {"name", LogColumn::lifter},
    {"participant", LogColumn::lifter},
    {"person", LogColumn::lifter},
    {"subject", LogColumn::lifter},
    {"who", LogColumn::lifter},
    {"day", LogColumn::date},
    {"when", LogColumn::date},
    {"date time", LogColumn::date},
    {"training date", LogColumn::date},
    {"time", LogColumn::date, CellForm::plain, Part::time_of_day},
    {"time of day", LogColumn::date, CellForm::plain, Part::time_of_day},
    {"start time", LogColumn::date, CellForm::plain, Part::time_of_day},
    {"exercise name", LogColumn::exercise},
    {"exercises", LogColumn::exercise},
    {"lift", LogColumn::exercise},
    {"movement", LogColumn::exercise},
    {"weight", LogColumn::load},
    {"load used", LogColumn::load},
    {"weight used", LogColumn::load},
    {"bar weight", LogColumn::load},
    {"resistance", LogColumn::load},
    {"units", LogColumn::unit},
    {"weight unit", LogColumn::unit},
    {"load unit", LogColumn::unit},
    {"rep", LogColumn::reps},
    {"repetitions", LogColumn::reps},
    {"reps done", LogColumn::reps},
    {"reps completed", LogColumn::reps},
    {"completed reps", LogColumn::reps},
    {"rir", LogColumn::called_reserve},
    {"reserve", LogColumn::called_reserve},
    {"reps in reserve", LogColumn::called_reserve},
    {"reps left", LogColumn::called_reserve},
    {"rpe", LogColumn::called_reserve, CellForm::rpe},
    {"fail", LogColumn::failed},
    {"failed rep", LogColumn::failed},
    {"missed", LogColumn::failed},
    {"rest", LogColumn::rest_s},
    {"rest time", LogColumn::rest_s},
    {"rest sec", LogColumn::rest_s},
    {"rest secs", LogColumn::rest_s},
    {"rest seconds", LogColumn::rest_s},
    {"rest min", LogColumn::rest_s, CellForm::minutes},
    {"rest mins", LogColumn::rest_s, CellForm::minutes},
    {"rest minutes", LogColumn::rest_s, CellForm::minutes},
    {"last rep velocity", LogColumn::last_rep_speed},
    {"set type", LogColumn::kind},
    {"type", LogColumn::kind},
    {"target reps", LogColumn::planned_reps},
    {"prescribed reps", LogColumn::planned_reps},
    {"reps planned", LogColumn::planned_reps},
    {"planned rir", LogColumn::cue},
    {"target rir", LogColumn::cue},
    {"target reserve", LogColumn::cue},
    {"planned rpe", LogColumn::cue, CellForm::rpe},
    {"target rpe", LogColumn::cue, CellForm::rpe},
    {"workout", LogColumn::session},
    {"gym", LogColumn::place},
    {"location", LogColumn::place},
    {"leg", LogColumn::side},
    {"arm", LogColumn::side},
    {"limb", LogColumn::side},
    {"superset", LogColumn::joined},
    {"circuit", LogColumn::joined},
    {"bodyweight", LogColumn::body_mass},
    {"body weight", LogColumn::body_mass},
    {"bw", LogColumn::body_mass},
    {"partials", LogColumn::partial_reps},
    {"notes", LogColumn::note},
    {"comment", LogColumn::note},
    {"comments", LogColumn::note},
    {"remarks", LogColumn::note},
    {"set", LogColumn::reps, CellForm::plain, Part::set_number},
    {"set number", LogColumn::reps, CellForm::plain, Part::set_number},
    {"set no", LogColumn::reps, CellForm::plain, Part::set_number},
    {"set nr", LogColumn::reps, CellForm::plain, Part::set_number},
    {"sets", LogColumn::reps, CellForm::plain, Part::set_count},
    {"number of sets", LogColumn::reps, CellForm::plain, Part::set_count},
    // German, French, Spanish, Norwegian and Danish trade words; lower-casing knows ASCII only, so both spellings
    // stand.
    {"datum", LogColumn::date},
    {"tag", LogColumn::date},
    {"fecha", LogColumn::date},
    {"dato", LogColumn::date},
    {"jour", LogColumn::date},
    {"übung", LogColumn::exercise},
    {"Übung", LogColumn::exercise},
    {"uebung", LogColumn::exercise},
    {"exercice", LogColumn::exercise},
    {"ejercicio", LogColumn::exercise},
    {"øvelse", LogColumn::exercise},
    {"Øvelse", LogColumn::exercise},
    {"gewicht", LogColumn::load},
    {"last", LogColumn::load},
    {"charge", LogColumn::load},
    {"poids", LogColumn::load},
    {"peso", LogColumn::load},
    {"carga", LogColumn::load},
    {"vekt", LogColumn::load},
    {"vægt", LogColumn::load},
    {"wdh", LogColumn::reps},
    {"wiederholungen", LogColumn::reps},
    {"répétitions", LogColumn::reps},
    {"repeticiones", LogColumn::reps},
    {"repetisjoner", LogColumn::reps},
    {"pause", LogColumn::rest_s},
    {"descanso", LogColumn::rest_s},
    {"repos", LogColumn::rest_s},
    {"körpergewicht", LogColumn::body_mass},
    {"notiz", LogColumn::note},
    {"notizen", LogColumn::note},
    {"bemerkung", LogColumn::note},
    {"remarque", LogColumn::note},
    {"nota", LogColumn::note},
    {"notas", LogColumn::note},
    {"satz", LogColumn::reps, CellForm::plain, Part::set_number},
    {"série", LogColumn::reps, CellForm::plain, Part::set_number},
    {"serie", LogColumn::reps, CellForm::plain, Part::set_number},
    {"sett", LogColumn::reps, CellForm::plain, Part::set_number},
};

}  // namespace

std::optional<HeaderMeaning> meaning(std::string_view header) {
  std::vector<std::string> words;
  std::string word;
  for (const char c : lower_case(header) + ' ') {
    if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || static_cast<unsigned char>(c) >= 0x80) {
      word += c;
    } else if (!word.empty()) {
      words.push_back(std::move(word));
      word.clear();
    }
  }
  HeaderMeaning found;
  std::string rest;
  bool only_unit = !words.empty();
  for (const std::string& each : words) {
    if (const auto unit = parse_unit(each); unit && *unit != Unit::mark) {
      found.unit = unit;
    } else {
      rest += (rest.empty() ? "" : " ") + each;
      only_unit = false;
    }
  }
  if (only_unit) {
    found.column = LogColumn::load;
    return found;
  }
  if (const auto column = parse_log_column(rest)) {
    found.column = *column;
    return found;
  }
  for (const HeaderWord& each : kHeaderWords) {
    if (each.words != rest) continue;
    found.column = each.column;
    found.form = each.form;
    found.part = each.part;
    return found;
  }
  return std::nullopt;
}

}  // namespace ullage::interchange
