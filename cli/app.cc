#include "cli/app.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <filesystem>
#include <set>

#include "cli/context.h"
#include "cli/exit_codes.h"
#include "cli/words.h"

namespace ullage::cli {
namespace {

std::string family_of(const std::string& command) { return command.substr(0, command.find(' ')); }

bool is_family(const std::string& word) {
  return std::any_of(commands().begin(), commands().end(),
                     [&](const Command& c) { return c.name != word && family_of(c.name) == word; });
}

void print_error(const Environment& environment, const Error& error) {
  std::string_view rest = error.message;
  while (!rest.empty()) {
    const std::size_t end = std::min(rest.find('\n'), rest.size());
    *environment.err << kProgram << ": " << rest.substr(0, end) << '\n';
    rest = end < rest.size() ? rest.substr(end + 1) : std::string_view();
  }
}

bool utf8_locale(const Environment& environment) {
  for (const char* name : {"LC_ALL", "LC_CTYPE", "LANG"}) {
    std::string value = environment.variable(name);
    if (value.empty()) continue;
    std::transform(value.begin(), value.end(), value.begin(), [](unsigned char c) { return std::tolower(c); });
    return value.find("utf-8") != std::string::npos || value.find("utf8") != std::string::npos;
  }
  return false;
}

std::string standard_data_file(const Environment& environment) {
  namespace fs = std::filesystem;
  const std::string data = environment.variable("XDG_DATA_HOME");
  if (!data.empty()) return (fs::path(data) / "ullage" / "ullage.db").string();
  const std::string home = environment.variable("HOME");
  return (fs::path(home.empty() ? "." : home) / ".local" / "share" / "ullage" / "ullage.db").string();
}

// "--lifter NAME" and what it means, in two columns.
void option_lines(std::string& out, const Option& o) {
  std::string head = "  " + o.name + (o.value.empty() || o.name[0] != '-' ? "" : " " + o.value);
  std::string text = o.help;
  if (!o.unit.empty()) text += ", in " + o.unit;
  if (!o.choices.empty()) {
    text += text.back() == '?' ? " " : ": ";
    for (std::size_t i = 0; i < o.choices.size(); ++i) text += (i ? ", " : "") + o.choices[i];
  }
  if (!o.standard.empty()) text += " (" + o.standard + ")";
  if (o.many) text += "; may be repeated";
  if (o.needed) text += "; needed";
  constexpr std::size_t kText = 26;
  if (head.size() >= kText) {
    out += head + "\n";
    head.clear();
  }
  for (const std::string& word : split(text, ' ')) {
    if (head.size() > kText && head.size() + 1 + word.size() > kColumns) {
      out += head + "\n";
      head.clear();
    }
    if (head.size() < kText)
      head = padded(head, kText);
    else
      head += ' ';
    head += word;
  }
  out += head + "\n";
}

std::string usage_of(const Command& c) {
  std::string text = fmt::format("{} {}", kProgram, c.name);
  for (const Option& o : c.options) {
    if (o.name[0] != '-')
      text += " " + (o.needed ? o.name : "[" + o.name + "]");
    else if (o.needed)
      text += " " + o.name + " " + o.value;
  }
  return text + " [options]";
}

std::string wrapped(const std::string& text) {
  std::ostringstream out;
  Terminal(out, false, true).line(text, 0, 0);
  return out.str();
}

std::string command_list(const std::string& family) {
  std::string out;
  std::set<std::string> shown;
  for (const Command& c : commands()) {
    const std::string name = family.empty() ? family_of(c.name) : c.name;
    if (!family.empty() && family_of(c.name) != family) continue;
    if (!shown.insert(name).second) continue;
    const auto help = family.empty() && is_family(name) ? words::family_help(name) : std::string_view(c.help);
    const std::size_t width = family.empty() ? 10 : 18;
    std::ostringstream line;
    Terminal(line, false, true).line(padded(name, width) + " " + std::string(help), 2, width + 1);
    out += line.str();
  }
  return out;
}

}  // namespace

std::string help_text(const std::string& of) {
  std::string out;
  if (const Command* c = find_command(of)) {
    out += usage_of(*c) + "\n\n" + wrapped(c->help) + "\n";
    for (const Option& o : c->options) option_lines(out, o);
    for (const Option& o : common_options()) option_lines(out, o);
    if (!c->more.empty()) out += "\n" + wrapped(c->more);
    if (is_family(of)) out += "\n" + command_list(of);
    return out;
  }
  if (is_family(of)) {
    return fmt::format("{} {} COMMAND [options]\n\n", kProgram, of) + command_list(of) +
           fmt::format("\n{} {} COMMAND --help says more.\n", kProgram, of);
  }
  out += fmt::format("{} COMMAND [options]\n\n", kProgram) + wrapped(std::string(words::kWhatItIs)) + "\n" +
         command_list("") + "\n";
  for (const Option& o : common_options()) option_lines(out, o);
  out += fmt::format("\n{} COMMAND --help says more.\n\n", kProgram) + wrapped(std::string(words::kNotMedical));
  return out;
}

int run(const std::vector<std::string>& arguments, const Environment& environment) {
  CLI::App app("", kProgram);
  app.set_help_flag();
  app.require_subcommand(0, 1);
  app.fallthrough();
  Args args;
  const auto put_options = [&](CLI::App* to, const std::vector<Option>& options) {
    for (const Option& o : options) {
      const std::string& name = o.name;
      if (o.kind == Kind::flag) {
        to->add_flag_function(name, [&args, name](std::int64_t) { args.set_flag(name); });
        continue;
      }
      if (name[0] != '-' && !o.many) {
        to->add_option_function<std::string>(name, [&args, name](const std::string& value) { args.add(name, value); });
        continue;
      }
      CLI::Option* option = to->add_option_function<std::vector<std::string>>(
          name, [&args, name](const std::vector<std::string>& values) {
            for (const std::string& value : values) args.add(name, value);
          });
      option->type_size(1);
      if (name[0] == '-')
        option->multi_option_policy(CLI::MultiOptionPolicy::TakeAll)->allow_extra_args(false);
      else
        option->expected(1, 1000);
    }
  };
  put_options(&app, common_options());
  std::map<std::string, CLI::App*> families, leaves;
  for (const Command& c : commands()) {
    const std::string family = family_of(c.name);
    if (c.name == family) {
      CLI::App*& leaf = families[family];
      if (!leaf) leaf = app.add_subcommand(family);
      leaf->fallthrough();
      put_options(leaf, c.options);
      leaves[c.name] = leaf;
      continue;
    }
    CLI::App*& parent = families[family];
    if (!parent) parent = app.add_subcommand(family);
    parent->fallthrough();
    parent->require_subcommand(0, 1);
    CLI::App* leaf = parent->add_subcommand(c.name.substr(family.size() + 1));
    leaf->fallthrough();
    put_options(leaf, c.options);
    leaves[c.name] = leaf;
  }

  std::string path;
  try {
    std::vector<std::string> reversed(arguments.rbegin(), arguments.rend());
    app.parse(reversed);
  } catch (const CLI::ParseError& problem) {
    std::string message = problem.what();
    // What was not understood is named as it was typed, with the option it may have been.
    for (const std::string& a : arguments) {
      if (a.rfind("--", 0) != 0 || message.find(a) == std::string::npos) continue;
      std::vector<std::string> names;
      for (const Command& c : commands()) {
        if (arguments.empty() || family_of(c.name) != arguments.front()) continue;
        for (const Option& o : c.options) names.push_back(o.name);
      }
      for (const Option& o : common_options()) names.push_back(o.name);
      if (std::find(names.begin(), names.end(), a) != names.end()) continue;
      message = "no option " + a + coach::did_you_mean(coach::near_names(a, names, 3));
    }
    if (!arguments.empty() && arguments.front().rfind("-", 0) != 0 &&
        families.find(arguments.front()) == families.end()) {
      std::vector<std::string> names;
      for (const auto& [name, unused] : families) names.push_back(name);
      message = "no command \"" + arguments.front() + "\"" +
                coach::did_you_mean(coach::near_names(arguments.front(), names, 3));
    }
    *environment.err << kProgram << ": " << message << '\n' << fmt::format("{} --help shows what there is\n", kProgram);
    return exit_code(Code::invalid_input);
  }
  for (CLI::App* at = &app; !at->get_subcommands().empty();) {
    at = at->get_subcommands().front();
    path += (path.empty() ? "" : " ") + at->get_name();
  }
  const Command* command = find_command(path);
  if (args.flag("--help") || path.empty() || path == "help") {
    std::string of = path == "help" ? "" : path;
    for (const std::string& word : args.all("COMMAND")) of += (of.empty() ? "" : " ") + word;
    *environment.out << help_text(of);
    return 0;
  }
  if (args.flag("--version")) command = find_command("version");
  if (!command) {
    *environment.err << help_text(path);
    return exit_code(Code::invalid_input);
  }

  std::vector<const Option*> options;
  for (const Option& o : command->options) options.push_back(&o);
  for (const Option& o : common_options()) options.push_back(&o);
  std::string faults;
  for (const std::string& fault : faults_of(options, args)) faults += (faults.empty() ? "" : "\n") + fault;
  if (!faults.empty()) {
    print_error(environment, {Code::invalid_input, faults});
    return exit_code(Code::invalid_input);
  }

  const bool colour = environment.out_is_terminal && environment.variable("NO_COLOR").empty();
  const bool quiet = args.flag("--quiet");
  const std::string user = environment.variable("USER");
  Context context{environment,
                  *command,
                  args,
                  Terminal(*environment.out, colour, utf8_locale(environment), args.flag("--json")),
                  args.flag("--json"),
                  quiet,
                  args.text("--db", standard_data_file(environment)),
                  user.empty() ? "coach" : user,
                  nullptr,
                  ProgressLine(environment, quiet)};
  if (command->needs_data || (!command->data_with.empty() && args.has(command->data_with))) {
    auto desk = coach::Desk::open(context.data_file, *environment.clock, context.who, args.date("--as-of"));
    if (!desk) {
      print_error(environment, desk.error());
      return exit_code(desk.error().code);
    }
    context.open_desk = std::move(*desk);
  }
  const Result<void> done = command->run(context);
  context.progress.clear();
  environment.out->flush();
  if (!done) {
    print_error(environment, done.error());
    return exit_code(done.error().code);
  }
  return 0;
}

bool ProgressLine::tell(double share, const std::string& what) {
  if (environment_.stop && environment_.stop->load()) return false;
  if (quiet_ || !environment_.err_is_terminal) return true;
  const auto now = std::chrono::steady_clock::now();
  if (now - begun_ < std::chrono::seconds(1) || now - last_ < std::chrono::milliseconds(200)) return true;
  last_ = now;
  std::string text = fmt::format("{:3.0f} %  {}", 100 * std::clamp(share, 0.0, 1.0), what);
  text = cut(text, kColumns - 1);
  *environment_.err << '\r' << padded(text, shown_) << std::flush;
  shown_ = std::max(shown_, shown_width(text));
  return true;
}

void ProgressLine::clear() {
  if (shown_ > 0) *environment_.err << '\r' << std::string(shown_, ' ') << '\r' << std::flush;
  shown_ = 0;
}

void Context::say_change(store::ChangeId change, const std::string& done) {
  if (json) return print({{"change", change}});
  if (change == 0) {
    term.line(std::string(words::kNothingChanged));
    return;
  }
  term.line(done);
  term.quiet(fmt::format("change {}; to take it back: {} undo {}", change, kProgram, change));
}

}  // namespace ullage::cli
