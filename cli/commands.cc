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
Option plot() { return text("--plot", "FILE", "draws it as a picture: .svg, .png or .pdf"); }
Option output() { return text("--output", "FILE", "where html and pdf go"); }
Option paper() { return choice("--paper", "size of the page", {"a4", "letter"}, "a4"); }
Option language() { return choice("--language", "language of the paper", {"en", "de"}, "en"); }
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

Option sure() { return flag("--sure", "a set far above what is expected is right"); }

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

std::vector<Option> study_table() {
  return {needed(text("FILE", "", "a study table: CSV, XLSX or ODS, one row an effect")),
          text("--mapping", "FILE", "how a table with other columns is read: TOML"),
          flag("--skip-bad", "leaves out rows that cannot be used; without it they stop everything"),
          choice("--measure", "effect size, when several can be computed", {"MD", "SMD", "SMCR", "ROM", "OR", "RR"}),
          choice("--better", "turns effects so that above 0 is better: is more of the outcome better, or less?",
                 {"more", "less"}, "as in the table, or its column better"),
          number("--assumed-r", "correlation of before and after where the table gives none", -0.99, 0.99),
          flag("--sd-from-tests", "works a missing sd out from a change's sd, standard error or t value"),
          many(text("--where", "RULE", "only rows with COLUMN=VALUE; several: all must hold"))};
}

std::vector<Option> pooling() {
  return {choice("--method", "how the spread between studies is estimated",
                 {"REML", "ML", "DL", "PM", "EB", "HE", "SJ", "common"}, "REML"),
          many(text("--moderator", "COLUMN", "a moderator: a slope for numbers, levels for words")),
          many(text("--quadratic", "COLUMN", "a moderator with its square")),
          many(text("--spline", "COLUMN", "a moderator as a restricted cubic spline")),
          many(text("--knots", "RULE", "knots of a spline: COLUMN=3, or COLUMN=0,3,8")),
          many(text("--interaction", "COLUMNS", "product of two columns, such as weeks,trained")),
          many(text("--levels", "COLUMN", "numbers of this column are names, not amounts")),
          text("--random", "LEVELS", "random levels, outermost first: study/effect, study/group/effect"),
          number("--correlation", "of sampling errors within a study", 0, 0.99, "", "0"),
          text("--cluster", "COLUMN", "errors that hold when effects of a study hang together: study"),
          flag("--knapp-hartung", "Student's t and errors scaled by the residual spread"),
          number("--level", "of intervals", 50, 99.9, "%", "95")};
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
  const Option file = needed(text("FILE", "", "a CSV, XLSX or ODS file"));
  const Option change_file = needed(text("FILE", "", "a file"));
  std::vector<Command> all;
  const auto add = [&](const char* command, const char* help, std::vector<Option> options,
                       Result<void> (*run)(Context&), bool data = true, const char* more = "",
                       const char* data_with = "") {
    all.push_back({command, help, std::move(options), run, data, more, data_with});
  };

  add("demo", "makes a roster of invented lifters with months of log",
      {whole("--seed", "another seed, other lifters' logs", 0, 1e9, "1")}, run_demo);
  add("import", "reads a log from a CSV file or a workbook",
      {file, text("--mapping", "NAME", "a saved mapping, for a file that is not in the open log format"),
       any_lifter("for rows that name none"),
       flag("--dry-run", "counts, with a mapping shows the first sets beside their cells, stores nothing"),
       flag("--update", "applies rows that differ from what is stored"), flag("--skip-bad", "leaves bad rows out"),
       flag("--sure", "the rows that are asked about are right")},
      run_import, true,
      "All or nothing unless --skip-bad. The same file twice adds nothing. Lifters the file names are taken on. Each "
      "import can be taken back as one with undo. A row with pain of the last 14 days takes its exercise out until it "
      "is cleared; older ones are history.");
  add("mapping cells", "shows the first rows of a table with the letters of their columns",
      {file, text("--sheet", "NAME", "only this sheet of a workbook"),
       whole("--rows", "how many rows of a sheet", 1, 1000, "12")},
      run_mapping_cells);
  add("mapping suggest", "looks at a table and offers a mapping",
      {file, text("--save", "NAME", "saves what is offered under this name"),
       choice("--date-order", "answers how dates are written", {"ymd", "dmy", "mdy"}),
       choice("--unit", "answers the unit of the loads", {"kg", "lb"}),
       choice("--effort", "answers what the number after @ in a cell of sets is", {"rpe", "reserve"}),
       text("--order", "TEXT", "answers how the numbers of a set lie, such as \"sets x reps\""),
       many(text("--sheet", "NAME", "reads only this sheet of a workbook; * stands for any text")),
       many(text("--without-sheet", "NAME", "leaves this sheet out")),
       flag("--skip-hidden-rows", "leaves hidden rows out"),
       many(text("--column", "PAIR",
                 "reads a log column from a table column: its name, or any cell of it, such as reps=Times or reps=D4")),
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
       choice("--start", "where everyone's estimates start from, kept for all that follow", {"roster", "published"},
              "as before"),
       whole("--workers", "how many at once", 1, 256, "all cores")},
      run_fit);
  add("estimate", "what a lifter can do, and what that rests on", {lifter(), plot()}, run_estimate);
  add("forecast", "what planned sets will find",
      {lifter(), exercise(), needed(text("--load", "LOAD", "as written in a log, such as 100 or 225lb")), unit(),
       needed(text("--sets", "REPS", "reps of each set, such as 8,8,8")),
       number("--rest", "rest between sets", 0, 3600, "s", "120"), side(), date("--date", "the day", "today"), plot()},
      run_forecast);
  add("plan", "plans a block of weeks, or re-solves the accepted one from today",
      {lifter(),
       text("--template", "NAME", "start from this template"),
       text("--request", "FILE", "start from a request file (docs/planning.md)"),
       flag("--new", "plan anew although a plan is accepted"),
       whole("--weeks", "weeks", 1, 12, "6"),
       date("--from", "first day", "next Monday"),
       many(text("--on", "DAY:MIN", "a training day, its minutes and perhaps place: Mon:60 or Mon:60:garage")),
       text("--place", "NAME", "where, instead of the usual place"),
       many(text("--goal", "MUSCLE=N", "a muscle to grow and its weight; others then have none")),
       many(text("--strength", "NAME", "an exercise to get strong in")),
       many(text("--must", "NAME:DAYS", "an exercise that must be in, and on how many days a week")),
       text("--ban", "NAME", "an exercise or a muscle that is out"),
       date("--ban-from", "first day it is out"),
       date("--ban-until", "last day it is out"),
       many(text("--fix", "NAME:DAY", "a fixed part: exercise:day[:sets[:reserve]]")),
       many(text("--test", "NAME:WEEK", "a rep-max test in that week")),
       many(text("--lighter", "WEEK", "a lighter week")),
       date("--target", "plan back from this day"),
       choice("--target-kind", "what the day is", {"meet", "photo"}, "meet"),
       flag("--alternate", "alternate sets of pressing and pulling sides"),
       number("--price", "price of one per cent of strength lost, in units of the effect", 0, 1, "", "0.01"),
       many(text("--missed", "DATE", "a day that was or will be missed")),
       many(text("--move", "DATE:DATE", "a day that moves")),
       many(text("--cut", "DATE:MIN", "a day cut to so many minutes")),
       text("--travel", "FROM:TO:PLACE", "away with another place's equipment"),
       date("--back", "back after illness or injury on this day"),
       whole("--back-weeks", "weeks until all sets are back", 1, 12, "2"),
       text("--why", "TEXT", "why, kept with the plan"),
       many(text("--reading", "NAME",
                 "a reading of growth short of failure to plan under: plateau, linear or your own; "
                 "without any, the request's, else all there are")),
       number("--seconds", "how long it may take, about", 0.2, 600, "s", "10"),
       flag("--curve", "the trade-off curve as well"),
       text("--plot", "FILE", "draw the trade-off curve: SVG, PNG or PDF"),
       text("--mps", "FILE", "write the programme for another solver"),
       flag("--brief", "without the reasons"),
       flag("--dry-run", "keep nothing")},
      run_plan, true,
      "The plan is a proposal until it is accepted. With an accepted plan and no new request it is solved again from "
      "today, changing as little as needed, and says what changes and why. Exit code 2: no plan keeps all rules, and "
      "which ones contradict each other. Exit code 3: a hold.");
  add("plan show", "prints a kept block",
      {lifter(), whole("--number", "which", 1, 1e6, "the open proposal or the plan"),
       flag("--brief", "without the reasons")},
      run_plan_show);
  add("plan list", "lists proposals and what became of them", {lifter()}, run_plan_list);
  add("plan accept", "makes the open proposal the plan", {lifter(), text("--why", "TEXT", "your word on it")},
      run_plan_accept);
  add("plan reject", "rejects the open proposal", {lifter(), text("--why", "TEXT", "your word on it")},
      run_plan_reject);
  add("plan edit", "changes one exercise on one day of the proposal or plan, and says which rules it then breaks",
      {lifter(), needed(text("--day", "DAY", "day of the week")), exercise(),
       text("--week", "RANGE", "week or range such as 2-4"), whole("--sets", "sets", 1, 10),
       whole("--reserve", "reps in reserve", 0, 10), flag("--remove", "take it out")},
      run_plan_edit);
  add("plan note", "keeps a note with a week of the block",
      {needed(text("TEXT", "TEXT", "the note; empty takes it away")), lifter(),
       needed(whole("--week", "which week", 1, 12))},
      run_plan_note);
  add("template list", "block templates, shipped and your own", {}, run_template_list);
  add("template show", "prints a template as TOML", {needed(text("NAME", "NAME", "its name"))}, run_template_show);
  add("template add", "keeps a template of your own",
      {needed(text("FILE", "FILE", "TOML; see docs/planning.md")),
       needed(text("--name", "NAME", "name to keep it under"))},
      run_template_add);
  add("template remove", "removes a template of your own", {needed(text("NAME", "NAME", "its name"))},
      run_template_remove);
  add("session", "writes the next session set by set",
      {lifter(),
       date("--date", "the day", "today"),
       many(text("--exercise", "NAME",
                 "an exercise, in order; without any, the plan's day, else the session longest ago")),
       whole("--sets", "sets of each exercise named", 1, 10),
       text("--reps", "RANGE", "rep zone, such as 5-8"),
       text("--reserve", "RANGE", "reserve to end with, such as 1-2"),
       number("--rest", "rest between sets", 10, 1800, "s"),
       text("--load", "LOAD", "this load only (with one exercise)"),
       choice("--strategy", "how sets hang together", {"same load", "same reps", "top set"}, "same load"),
       choice("--finish", "how the last set of the last exercise ends", {"as usual", "failure", "test"}, "as usual"),
       whole("--sharing", "lifters taking turns at one station: rests grow to the others' turns", 1, 6, "1"),
       side(),
       text("--place", "NAME", "where"),
       text("--session", "LABEL", "tells two sessions of a day apart"),
       date("--moved-from", "moves the session written for this day here; it keeps its entry in calendars", ""),
       choice("--format", "how it is printed", {"text", "json", "html", "pdf"}, "text"),
       output(),
       paper(),
       language(),
       plot()},
      run_session, true,
      "Exit code 3: a hold, or a limit that leaves no exercise; the message says which and what lifts it. With --as-of "
      "the holds and limits of the real day count as well.");
  const auto steered = [] { return choice("--kind", "what was proposed", {"lighter", "stall"}, "lighter"); };
  add("steer", "says how the last two weeks went and what the data ask for", {lifter()}, run_steer, true,
      "A lighter week is proposed when strength is under what was forecast, with more misses than told or low "
      "readiness; another way for a lift that stands still. Nothing happens before you accept.");
  add("steer accept", "accepts what is proposed",
      {lifter(), steered(), date("--week", "a day of the week that is to be lighter", "as proposed"),
       flag("--unasked", "a lighter week although none is proposed"), text("--why", "TEXT", "your word on it")},
      run_steer_accept, true,
      "An accepted lighter week holds from Monday to Sunday: its sessions have fewer sets with more in reserve, and "
      "\"plan\" plans it. An accepted way out of a stall holds for six weeks in sessions that repeat the log.");
  add("steer reject", "rejects what is proposed", {lifter(), steered(), text("--why", "TEXT", "your word on it")},
      run_steer_reject);
  add("compare", "compares ways to train an exercise: a what-if, not a prescription",
      {any_lifter("the lifter, by name or id"), flag("--average", "an average lifter instead"), exercise(),
       needed(many(
           text("--strategy", "WAY", "failure, reserve:2, last-failure or list:3,2,1,0; the first is compared with"))),
       many(
           text("--load", "LOAD", "as written in a log, or a share of strength such as 75%; once, or once a strategy")),
       whole("--reps", "the load that allows so many reps to failure", 1, 50, "the middle of the policy's zone"),
       whole("--sets", "sets", 1, 20, "the policy's, or a list's"),
       number("--rest", "rest between sets", 0, 3600, "s", "the policy's"),
       choice("--equal", "what is held equal; sets are added to the others", {"sets", "volume", "minutes"}, "sets"),
       side(), date("--date", "the day", "today"), text("--place", "NAME", "where, for the loads that can be built"),
       text("--plot", "FILE", "draws it: .svg, .png or .pdf")},
      run_compare, true,
      "Equal volume is the same expected total of reps, at different loads the same tonnage. A part of a set is a set "
      "done "
      "in that share of sessions. What stands against a way (a hold, a limit, the reserve policy) is said beside it.");
  add("log", "adds a set and prints the next one, planned again",
      std::vector<Option>{
          lifter(), exercise(),
          needed(text("--load", "LOAD", "as written: whole bar, one dumbbell, stack, added; negative is assistance")),
          unit(), needed(whole("--reps", "completed", 0, 500)), date("--date", "the day", "today")} +
          set_fields() + std::vector<Option>{sure()},
      run_log, true,
      "With --pain the exercise is out from that set on; what comes next is another exercise. Days are taken from 1950 "
      "to the day after today.");
  add("log session", "logs a whole session typed in one line",
      {needed(text("LINE", "", "such as \"bench press: 100 kg x 8 left 2; x 8 left 1; x 7 failed; rest 180 s\"")),
       lifter(), date("--date", "the day", "today"), unit(),
       text("--session", "LABEL", "tells two sessions of a day apart"), text("--place", "NAME", "where"),
       flag("--dry-run", "shows what is read, stores nothing"), sure()},
      run_log_session, true,
      "One change. The last load carries on within an exercise; docs/log-format.md has the whole grammar.");
  add("set list", "lists logged sets with their numbers",
      {lifter(), text("--exercise", "NAME", "only this exercise"), date("--from", "first day"),
       date("--to", "last day"), whole("--last", "only the last ones", 1, 1e6, "40")},
      run_set_list);
  add("set edit", "corrects a logged set: changes what is given, keeps the rest",
      std::vector<Option>{needed(whole("SET", "its number, from set list", 1, 9.3e18)),
                          text("--exercise", "NAME", "exercise"), text("--load", "LOAD", "load"), unit(),
                          whole("--reps", "completed", 0, 500), date("--date", "the day"),
                          flag("--not-failed", "no failed rep")} +
          set_fields() + std::vector<Option>{sure()},
      run_set_edit);
  add("set remove", "removes a logged set", {needed(whole("SET", "its number, from set list", 1, 9.3e18))},
      run_set_remove);
  add("roster", "who needs attention today, and why", {plot()}, run_roster);

  add("report", "a lifter's report in words for the lifter",
      {lifter(), choice("--format", "how it is printed", {"text", "json", "html", "pdf"}, "text"), output(), paper(),
       language()},
      run_report, true,
      "On hold the report is written all the same, and says what lifts the hold instead of what comes next.");
  add("sheets", "writes the session sheets of the days ahead, a file for each lifter",
      {needed(text("FOLDER", "", "a folder; made when there is none")),
       any_lifter("only this lifter; without it, everyone"), date("--from", "first day", "today"),
       whole("--days", "how many days", 1, 120, "7"), choice("--format", "kind of file", {"pdf", "html"}, "pdf"),
       paper(), language()},
      run_sheets, true,
      "Sessions written with session and the days of the accepted plan are taken; where there are none in these days, "
      "the last four weeks' sessions in turn on the usual days. Lifters on hold get no sheet and are named. Exit code "
      "3: "
      "with --lifter, a hold.");
  add("overview", "a lifter's sessions ahead on a ruled sheet, week by week",
      {lifter(), date("--from", "first day", "today"), whole("--days", "how many days", 1, 120, "28"),
       choice("--format", "kind of file", {"pdf", "html"}, "pdf"), needed(output()), paper(), language()},
      run_overview);
  add("calendar", "writes a lifter's sessions ahead as an iCalendar file",
      {lifter(), needed(text("--output", "FILE", "where the entries go, a file such as ines.ics")),
       date("--from", "first day", "today"), whole("--days", "how many days", 1, 120, "28"),
       text("--start", "TIME", "when sessions begin, such as 18:30; without it, entries for the whole day"),
       text("--zone", "NAME", "time zone of --start, such as Europe/Oslo"), language()},
      run_calendar, true, "Reading the file again into a calendar updates its entries: each keeps its id.");

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

  const Option plot = text("--plot", "FILE", "draws it: .svg, .png or .pdf");
  add("evidence fit", "pools studies",
      study_table() + pooling() +
          std::vector<Option>{flag("--profile", "intervals of each sigma2 of random levels, by profile likelihood"),
                              flag("--check", "leaves out one study after another; small studies against large"), plot,
                              choice("--picture", "what is drawn", {"forest", "funnel", "influence"}, "forest")},
      run_evidence_fit, false);
  add("evidence ask", "does stopping short cost growth, or strength? all studies, volume equated or not, trained only",
      study_table() +
          std::vector<Option>{
              needed(choice("--compares", "what a row is: a difference, and which way round, or one group's gain",
                            {"short minus failure", "failure minus short", "groups"})),
              text("--about", "OUTCOME", "value of the column outcome"),
              standing(text("--failure", "COLUMN", "groups: trained to failure, yes or no"), "failure"),
              standing(text("--volume", "COLUMN", "volume equated, yes or no"), "volume_equated"),
              standing(text("--trained", "COLUMN", "trained people, yes or no"), "trained"),
              many(text("--by", "COLUMN",
                        "does the difference depend on it? two with a comma: on the one otherwise as "
                        "the other is")),
              number("--correlation", "of sampling errors within a study", 0, 0.99, "", "0.5")},
      run_evidence_ask, false);
  add("evidence curve", "dose-response along a column, with its interval, and as a reading for planning",
      study_table() + pooling() +
          std::vector<Option>{
              needed(text("--along", "COLUMN", "the dose, such as reps in reserve")), plot,
              text("--keep", "NAME", "keeps growth short of failure under this name as a reading for plans"),
              text("--save-reading", "FILE", "writes it as a file, to be kept elsewhere with reading add"),
              standing(text("--name", "TEXT", "name of the reading in that file"), "own evidence"),
              number("--typical", "effects are differences: the gain at failure they are held against", 0.001, 1000)},
      run_evidence_curve, false, "", "--keep");
  add("reading list", "readings of growth short of failure that plans are held against", {}, run_evidence_reading_list);
  add("reading add", "keeps a reading that was saved as a file",
      {needed(text("FILE", "", "as evidence curve --save-reading writes it")),
       text("--name", "NAME", "another name than the file's")},
      run_evidence_reading_add);
  add("reading remove", "removes a reading of your own", {needed(text("NAME", "NAME", "its name"))},
      run_evidence_reading_remove);
  add("evidence published", "published pooled results, with their source and how well they are known",
      {text("TOPIC", "", "part of a topic or quantity, such as failure or strength")}, run_evidence_published, false);
  add("serve", "the page, for this computer's browser",
      {whole("--port", "port; 0: any free one", 0, 65535, "8090"),
       standing(text("--address", "ADDRESS", "address to listen on: one of this computer's own"), "127.0.0.1"),
       standing(text("--page", "FOLDER", "serves these files as the page"), "those compiled in")},
      run_serve, false,
      "Runs until Ctrl-C; then what was asked is answered first. There is no sign-in, so only 127.0.0.1, ::1 and "
      "localhost can be listened on; any other address is refused. docs/server.md says what is checked, "
      "docs/api/openapi.json what can be asked.");

  add("undo", "takes a change back", {whole("CHANGE", "which change; without it, the last one", 1, 9.3e18)}, run_undo);
  add("history", "lists the changes, newest first", {whole("--last", "how many", 1, 1e6, "20")}, run_history);
  add("export", "writes everything in open formats into a new folder",
      {needed(text("FOLDER", "", "a folder that does not exist yet")),
       any_lifter("only what is kept about this lifter"),
       flag("--workbook", "also data.xlsx (log, plans, sessions written, estimates) and the same as CSV")},
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
