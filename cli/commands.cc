// The table of every command and option; see cli/options.h.
#include "cli/context.h"

namespace ullage::cli {
namespace {

Option flag(const char* name, const char* help) { return {name, Kind::flag, "", help, "", 0, 0, "", {}, false, false}; }

Option text(const char* name, const char* value, const char* help) {
  Option o;
  o.name = name;
  o.value = value;
  o.help = help;
  return o;
}
Option number(const char* name, const char* help, double low, double high, const char* unit = "",
              const char* standard = "") {
  Option o = text(name, "NUMBER", help);
  o.kind = Kind::number;
  o.low = low;
  o.high = high;
  o.unit = unit;
  o.standard = standard;
  return o;
}
Option whole(const char* name, const char* help, double low, double high, const char* standard = "") {
  Option o = number(name, help, low, high, "", standard);
  o.kind = Kind::whole;
  return o;
}
Option date(const char* name, const char* help, const char* standard = "") {
  Option o = text(name, "DATE", help);
  o.kind = Kind::date;
  o.standard = standard;
  return o;
}
Option choice(const char* name, const char* help, std::vector<std::string> choices, const char* standard = "") {
  Option o = text(name, "WORD", help);
  o.kind = Kind::choice;
  o.choices = std::move(choices);
  o.standard = standard;
  return o;
}
Option needed(Option o) {
  o.needed = true;
  return o;
}
Option many(Option o) {
  o.many = true;
  return o;
}
Option standing(Option o, const char* standard) {
  o.standard = standard;
  return o;
}

Option lifter() { return needed(text("--lifter", "NAME", "the lifter, by name or id")); }
Option any_lifter(const char* help) { return text("--lifter", "NAME", help); }
Option exercise() { return needed(text("--exercise", "NAME", "id, name or alias in the exercise library")); }
Option by() { return standing(text("--by", "NAME", "who recorded it"), "you"); }
Option record_date() { return date("--date", "the day it is dated", "today"); }
Option side() { return choice("--side", "side it is done with", {"both", "left", "right"}, "both"); }
Option unit() { return choice("--unit", "unit of a load without one", {"kg", "lb", "mark"}, "the lifter's"); }

std::vector<Option> operator+(std::vector<Option> a, const std::vector<Option>& b) {
  a.insert(a.end(), b.begin(), b.end());
  return a;
}

std::vector<Option> profile() {
  return {date("--born", "date of birth"),
          choice("--sex", "sets only the first guess of strength", {"female", "male", "unknown"}),
          number("--training-years", "years of regular lifting when taken on", 0, 80, "years"),
          date("--since", "day taken on"),
          text("--goal", "TEXT", "goal, in your words"),
          choice("--unit", "unit loads are shown in", {"kg", "lb"}, "kg"),
          text("--body-mass", "MASS", "body mass today, such as 72.5kg"),
          whole("--days", "training days a week", 1, 14),
          whole("--minutes", "minutes a session", 5, 600),
          text("--place", "NAME", "usual place"),
          many(text("--avoid", "EXERCISE", "an exercise never prescribed; \"none\" clears the list")),
          text("--note", "TEXT", "your note")};
}

std::vector<Option> exercise_fields() {
  return {
      text("--name", "TEXT", "plain name"),
      many(text("--alias", "TEXT", "another spelling; aliases given replace the old ones")),
      choice("--class", "class; decides the reserve policy", {"barbell compound", "supported compound", "isolation"}),
      choice("--implement", "what carries the load",
             {"barbell", "dumbbell", "stack", "plates", "added mass", "kettlebell", "band", "bodyweight"}),
      text("--muscles", "LIST", "such as chest=1,triceps=0.5: 1 direct, 0.5 indirect"),
      number("--multiplier", "total load per written load: 2 for two dumbbells", 0.01, 10),
      number("--offset", "load that is moved without any written", -500, 500, "kg"),
      number("--body-mass-share", "share of body mass that is lifted", 0, 1),
      text("--step", "LOAD", "usual increment, such as 2.5kg"),
      choice("--one-sided", "done one side at a time", {"yes", "no"}),
      choice("--needs-spotter", "failure only with spotters or safety bars", {"yes", "no"}),
      text("--bar", "KIND", "kind of bar, when not the place's first")};
}

std::vector<Option> place_fields() {
  return {text("--name", "TEXT", "name as shown"),
          choice("--unit", "unit of parts without one", {"kg", "lb"}, "kg"),
          many(text("--bar", "BAR", "kind and mass, such as olympic=20kg; the first is the usual one")),
          text("--plates", "LIST", "plates and their pairs, such as 20kgx4,10kgx1,1.25kgx1"),
          text("--dumbbells", "LIST", "such as 4,6,8..30 step 2 kg (each a pair)"),
          text("--kettlebells", "LIST", "such as 8..32 step 4 kg"),
          many(text("--stack", "STACK", "EXERCISE=LIST, or LIST for every machine without its own")),
          many(text("--without", "EXERCISE", "cannot be done here; \"none\" clears the list")),
          choice("--safety-bars", "spotters or safety bars are confirmed", {"yes", "no"}, "no")};
}

std::vector<Option> policy_scope() { return {any_lifter("this lifter's own policy; without it, everyone's")}; }

std::vector<Option> set_fields() {
  return {text("--called", "RESERVE", "\"how many more?\" as answered: 0 to 10 in halves, or 5+"),
          flag("--failed", "one more rep was tried and not completed"),
          number("--rest", "rest before this set", 0, 86400, "s"),
          side(),
          choice("--kind", "kind of set", {"work", "warmup", "test"}, "work"),
          choice("--stop", "why it ended", {"planned", "cue", "failed", "unknown"}, "worked out from the sheet"),
          whole("--planned-reps", "reps that were planned", 0, 500, "the sheet's"),
          text("--cue", "RESERVE", "the cue that was given"),
          whole("--called-at-rep", "rep at which the call was made", 0, 500, "the last"),
          number("--speed", "mean speed of the last rep", 0, 5, "m/s"),
          flag("--pain", "it hurt: the exercise is taken out until cleared"),
          text("--note", "TEXT", "a note"),
          text("--session", "LABEL", "tells two sessions of a day apart"),
          text("--place", "NAME", "where"),
          text("--joined", "MARK", "sets with one mark are alternated"),
          text("--part-of", "MARK", "drop or rest-pause set: the unit it belongs to"),
          whole("--part", "its place in that unit", 1, 100),
          text("--body-mass", "MASS", "body mass, such as 72.5kg"),
          text("--tempo", "TEXT", "tempo"),
          whole("--partial-reps", "partial reps", 0, 500),
          choice("--extra", "what was added", {"chain", "band"})};
}

std::vector<Option> intake_fields() {
  const char* kYesNo = "yes or no";
  std::vector<Option> out{lifter(), by(), record_date(), flag("--all-no", "every question was asked and answered no")};
  for (int q = 0; q < safety::kQuestionCount; ++q) {
    const std::string name = intake_option(static_cast<safety::Question>(q));
    Option o = choice(name.c_str(), kYesNo, {"yes", "no"}, "not asked");
    o.help = std::string(safety::question_text(static_cast<safety::Question>(q)));
    out.push_back(o);
  }
  out.push_back(text("--detail", "TEXT", "what was said, kept with the answers that are yes"));
  return out;
}

std::vector<Command> make() {
  const Option name = needed(text("NAME", "", "its name"));
  const Option place_id = needed(text("PLACE", "", "name or id of the place"));
  const Option file = needed(text("FILE", "", "a CSV file"));
  const Option change_file = needed(text("FILE", "", "a file"));
  std::vector<Command> all;
  const auto add = [&](const char* command, const char* help, std::vector<Option> options,
                       Result<void> (*run)(Context&), bool data = true,
                       const char* more = "") { all.push_back({command, help, std::move(options), run, data, more}); };

  add("demo", "makes a roster of invented lifters with months of log",
      {whole("--seed", "another seed, other lifters' logs", 0, 1e9, "1")}, run_demo);
  add("import", "reads a log from a CSV file",
      {file, text("--mapping", "NAME", "a saved mapping, for a file that is not in the open log format"),
       any_lifter("for rows that name none"), flag("--dry-run", "counts and lists, stores nothing"),
       flag("--update", "applies rows that differ from what is stored"), flag("--skip-bad", "leaves bad rows out")},
      run_import, true,
      "All or nothing unless --skip-bad. The same file twice adds nothing. Lifters the file names are taken on. Each "
      "import can be taken back as one with undo. A row with pain of the last 14 days takes its exercise out until it "
      "is cleared; older ones are history.");
  add("mapping suggest", "looks at a table and offers a mapping",
      {file, text("--save", "NAME", "saves what is offered under this name"),
       choice("--date-order", "answers how dates are written", {"ymd", "dmy", "mdy"}),
       choice("--unit", "answers the unit of the loads", {"kg", "lb"}),
       many(text("--column", "PAIR", "reads a log column from a table column, such as reps=Times")),
       many(text("--constant", "PAIR", "the same for every row, such as lifter=Ines")),
       many(text("--means", "PAIR", "an exercise of the table and yours, such as SQ=back squat"))},
      run_mapping_suggest);
  add("mapping add", "saves a mapping from a TOML file", {name, change_file}, run_mapping_add, true,
      "docs/log-format.md describes every key.");
  add("mapping list", "lists the saved mappings", {}, run_mapping_list);
  add("mapping show", "prints a mapping as TOML", {name}, run_mapping_show);
  add("mapping remove", "removes a mapping", {name}, run_mapping_remove);

  add("lifter add", "takes a lifter on", std::vector<Option>{name} + profile(), run_lifter_add);
  add("lifter edit", "changes what is given, keeps the rest",
      std::vector<Option>{needed(text("NAME", "", "the lifter")), text("--rename", "NAME", "a new name")} + profile(),
      run_lifter_edit);
  add("lifter show", "shows a lifter's profile", {needed(text("NAME", "", "the lifter"))}, run_lifter_show);
  add("lifter list", "lists the roster", {}, run_lifter_list);
  add("lifter weigh", "writes a body mass down",
      {needed(text("NAME", "", "the lifter")), needed(text("MASS", "", "such as 72.5kg")), record_date()},
      run_lifter_weigh);
  add("lifter settle", "lifts the extra rep in reserve of a beginner or a lifter of 65 or more",
      {needed(text("NAME", "", "the lifter")), by(), record_date()}, run_lifter_settle);
  add("lifter remove", "removes a lifter with all data; undo brings them back",
      {needed(text("NAME", "", "the lifter"))}, run_lifter_remove, true, "To remove a lifter for good, see erase.");

  add("exercise list", "lists the library", {text("TEXT", "", "only names in which this stands")}, run_exercise_list);
  add("exercise show", "shows an exercise as it stands in the library",
      {needed(text("EXERCISE", "", "id, name or alias"))}, run_exercise_show);
  add("exercise add", "adds an exercise of your own, or reads several from a TOML file",
      std::vector<Option>{text("ID", "", "lower case letters, digits and hyphens"),
                          text("--file", "FILE", "[[exercise]] tables")} +
          exercise_fields(),
      run_exercise_add);
  add("exercise edit", "changes what is given, keeps the rest",
      std::vector<Option>{needed(text("EXERCISE", "", "id, name or alias"))} + exercise_fields(), run_exercise_edit);
  add("exercise remove", "takes your edit of an exercise back", {needed(text("EXERCISE", "", "id, name or alias"))},
      run_exercise_remove);

  for (const std::string family : {"place", "equipment"}) {
    add((family + " add").c_str(), "describes a place and what can be loaded there",
        std::vector<Option>{place_id} + place_fields(), run_place_add);
    add((family + " edit").c_str(), "changes what is given, keeps the rest",
        std::vector<Option>{place_id} + place_fields(), run_place_edit);
    add((family + " show").c_str(), "shows a place", {place_id}, run_place_show);
    add((family + " list").c_str(), "lists the places", {}, run_place_list);
    add((family + " remove").c_str(), "removes a place", {place_id}, run_place_remove);
  }

  add("policy show", "shows the reserve policy", policy_scope(), run_policy_show);
  add("policy set", "changes the policy of a class",
      policy_scope() +
          std::vector<Option>{
              needed(choice("--class", "class of exercise", {"barbell compound", "supported compound", "isolation"})),
              text("--reserve", "RANGE", "reserve to end with, such as 1-2"),
              choice("--failure", "the last set of an exercise may go to failure", {"yes", "no"}),
              whole("--failure-every", "days between sets to failure, at least; 0: never", 0, 3650),
              whole("--test-every", "days between rep-max tests, at least", 0, 3650),
              number("--miss-limit", "highest chance of a miss of a set, used up to 25", 0.1, 90, "%"),
              text("--reps", "RANGE", "rep zone, such as 6-12"), number("--rest", "usual rest", 0, 3600, "s"),
              whole("--sets", "usual sets of an exercise", 1, 20)},
      run_policy_set, true,
      "A set to failure still passes the safety rules: see docs/model.md. Of a miss limit no more than 25 % is used, "
      "and "
      "no more than the class's standard where failure is barred.");
  add("policy reset", "back to the standard policy", policy_scope(), run_policy_reset);

  add("intake", "writes the answers to the health questions down", intake_fields(), run_intake, true,
      "A yes is a hold: nothing is prescribed until it is lifted. Logging, import and estimates always work.");
  add("intake show", "shows what is on record about a lifter's health", {lifter()}, run_intake_show);
  add("hold add", "puts a lifter on hold", {lifter(), needed(text("--reason", "TEXT", "why, in words")), record_date()},
      run_hold_add);
  add("hold lift", "lifts a hold",
      {lifter(), text("--id", "ID", "which hold; not needed when one is open"),
       needed(text("--ground", "TEXT", "on what ground")), by(), record_date()},
      run_hold_lift, true,
      "Holds from the health questions, but for pain, are lifted by a clinician's word only: see word add.");
  add("hold show", "shows holds and what lifts them", {lifter()}, run_hold_show);
  add("word add", "writes a clinician's word down",
      {lifter(), needed(text("--clinician", "NAME", "who said it")), by(), record_date(),
       date("--until", "last day it holds; then the holds are back"),
       number("--least-reserve", "no set may end with less", 0, 10, "reps"),
       number("--load-cap", "highest load, as a share of strength", 1, 100, "%"),
       many(text("--only", "EXERCISE", "only these exercises")), many(text("--not", "EXERCISE", "not these exercises")),
       many(text("--lifts", "HOLD", "id of a hold it lifts, or \"all\"")), text("--note", "TEXT", "what was said")},
      run_word_add);
  add("word end", "ends a clinician's word: the holds it lifted are back",
      {lifter(), needed(text("--id", "ID", "which word")), record_date()}, run_word_end);
  add("consent add", "writes a guardian's consent down",
      {lifter(), needed(text("--guardian", "NAME", "who gave it")), by(), record_date()}, run_consent_add);
  add("consent remove", "a guardian takes the consent back", {lifter()}, run_consent_remove);
  add("pain add", "takes an exercise out because of pain",
      {lifter(), text("--exercise", "NAME", "the exercise; without it, all"), text("--note", "TEXT", "what was said"),
       record_date()},
      run_pain_add);
  add("pain clear", "lets an exercise back in",
      {lifter(), text("--exercise", "NAME", "the exercise"), flag("--all", "everything that is out"), by(),
       record_date()},
      run_pain_clear);

  add("fit", "fits and stores the estimates",
      {any_lifter("one lifter"), flag("--all", "everyone (also without --lifter)"),
       flag("--anew", "also those up to date: makes all derived data again"),
       flag("--pool", "twice: priors are blended with what this roster has shown"),
       whole("--workers", "how many at once", 1, 256, "all cores")},
      run_fit);
  add("estimate", "what a lifter can do, and what that rests on", {lifter()}, run_estimate);
  add("forecast", "what planned sets will find",
      {lifter(), exercise(), needed(text("--load", "LOAD", "as written in a log, such as 100 or 225lb")), unit(),
       needed(text("--sets", "REPS", "reps of each set, such as 8,8,8")),
       number("--rest", "rest between sets", 0, 3600, "s", "120"), side(), date("--date", "the day", "today")},
      run_forecast);
  add("session", "writes the next session set by set",
      {lifter(), date("--date", "the day", "today"),
       many(text("--exercise", "NAME", "an exercise, in order; without any, the session longest ago")),
       whole("--sets", "sets of each exercise named", 1, 10), text("--reps", "RANGE", "rep zone, such as 5-8"),
       text("--reserve", "RANGE", "reserve to end with, such as 1-2"),
       number("--rest", "rest between sets", 10, 1800, "s"),
       text("--load", "LOAD", "this load only (with one exercise)"),
       choice("--strategy", "how sets hang together", {"same load", "same reps", "top set"}, "same load"),
       choice("--finish", "how the last set of the last exercise ends", {"as usual", "failure", "test"}, "as usual"),
       side(), text("--place", "NAME", "where"), text("--session", "LABEL", "tells two sessions of a day apart"),
       choice("--format", "how it is printed", {"text", "json"}, "text")},
      run_session, true,
      "Exit code 3: a hold, or a limit that leaves no exercise; the message says which and what lifts it. With --as-of "
      "the holds and limits of the real day count as well.");
  add("log", "adds a set and prints the next one, planned again",
      std::vector<Option>{
          lifter(), exercise(),
          needed(text("--load", "LOAD", "as written: whole bar, one dumbbell, stack, added; negative is assistance")),
          unit(), needed(whole("--reps", "completed", 0, 500)), date("--date", "the day", "today")} +
          set_fields(),
      run_log, true,
      "With --pain the exercise is out from that set on; what comes next is another exercise. Days are taken from 1950 "
      "to the day after today.");
  add("set list", "lists logged sets with their numbers",
      {lifter(), text("--exercise", "NAME", "only this exercise"), date("--from", "first day"),
       date("--to", "last day"), whole("--last", "only the last ones", 1, 1e6, "40")},
      run_set_list);
  add("set edit", "corrects a logged set: changes what is given, keeps the rest",
      std::vector<Option>{needed(whole("SET", "its number, from set list", 1, 9.3e18)),
                          text("--exercise", "NAME", "exercise"), text("--load", "LOAD", "load"), unit(),
                          whole("--reps", "completed", 0, 500), date("--date", "the day"),
                          flag("--not-failed", "no failed rep")} +
          set_fields(),
      run_set_edit);
  add("set remove", "removes a logged set", {needed(whole("SET", "its number, from set list", 1, 9.3e18))},
      run_set_remove);
  add("roster", "who needs attention today, and why", {}, run_roster);

  add("backtest", "how well the log would have been forecast, against the published formulas",
      {any_lifter("one lifter"), flag("--all", "everyone (also without --lifter)"),
       whole("--after", "sessions before the first forecast", 1, 1000, "4"),
       whole("--fit-every", "sessions between fits; live updates in between", 1, 1000, "8"),
       whole("--workers", "how many lifters at once", 1, 256, "all cores"),
       text("--plot", "FILE",
            "a picture: where what happened lay in its forecast, and the errors; .svg, .png or .pdf")},
      run_backtest);
  add("simulate", "puts the model to the test on simulated lifters",
      {whole("--lifters", "of each kind of log", 1, 100000, "1000"),
       choice("--kind", "one kind only", {"planned", "cue", "unknown", "mixed"}, "all four"),
       whole("--broken-lifters", "of each way in which lifters depart from the model", 0, 100000,
             "250; none with --kind"),
       whole("--weeks", "of training", 4, 200, "10"),
       text("--results", "FOLDER", "keeps results there as they come; a stopped run goes on from them"),
       whole("--workers", "how many at once", 1, 256, "all cores"),
       text("--plot", "FILE", "a picture of the coverage; .svg, .png or .pdf")},
      run_simulate, false);

  add("undo", "takes a change back", {whole("CHANGE", "which change; without it, the last one", 1, 9.3e18)}, run_undo);
  add("history", "lists the changes, newest first", {whole("--last", "how many", 1, 1e6, "20")}, run_history);
  add("export", "writes everything in open formats into a new folder",
      {needed(text("FOLDER", "", "a folder that does not exist yet")),
       any_lifter("only what is kept about this lifter")},
      run_export);
  add("backup", "copies the data file while it is in use, and checks the copy",
      {needed(text("FILE", "", "a file that does not exist yet"))}, run_backup);
  add("restore", "replaces the data file by a backup; the old file is kept", {needed(text("FILE", "", "a backup"))},
      run_restore, false);
  add("erase", "removes a lifter for good, from the history too", {lifter(), flag("--yes", "does not ask")}, run_erase,
      true, "This cannot be undone. Backups and exports made before still hold the lifter.");
  add("doctor", "checks the installation and the data file", {}, run_doctor);
  add("version", "prints the version", {}, run_version, false);
  add("help", "prints help", {many(text("COMMAND", "", "of which command"))}, run_version, false);
  return all;
}

}  // namespace

std::string intake_option(safety::Question question) {
  constexpr const char* kNames[] = {"--heart-disease", "--metabolic-disease", "--kidney-disease",
                                    "--symptoms",      "--pregnancy",         "--recent-surgery",
                                    "--pain-now",      "--clinician-said-no"};
  static_assert(std::size(kNames) == safety::kQuestionCount);
  return kNames[static_cast<std::size_t>(question)];
}

const std::vector<Command>& commands() {
  static const std::vector<Command> all = make();
  return all;
}

const std::vector<Option>& common_options() {
  static const std::vector<Option> all{
      standing(text("--db", "FILE", "the data file"), "your own, in the data folder"),
      date("--as-of", "the day taken for today", "today"),
      flag("--json", "prints the result as JSON"),
      flag("--quiet", "shows no progress"),
      flag("--help", "shows this"),
      flag("--version", "prints the version"),
  };
  return all;
}

}  // namespace ullage::cli
