// serve.
#include <fmt/format.h>

#include <chrono>
#include <thread>

#include "cli/app.h"
#include "cli/context.h"
#include "server/application.h"

namespace ullage::cli {

Result<void> run_serve(Context& c) {
  server::Options options;
  options.data_file = c.data_file;
  options.clock = c.environment.clock;
  options.who = c.who;
  options.as_of = c.args.date("--as-of");
  options.version = kVersion;
  options.page_folder = c.args.text("--page");
  options.where.address = c.args.text("--address", "127.0.0.1");
  options.where.port = static_cast<std::uint16_t>(c.args.whole("--port").value_or(8090));
  auto started = server::Application::start(options);
  if (!started) {
    Error error = started.error();
    // What cannot be listened on is an option that was wrong, and no hold.
    if (error.code == Code::not_allowed) error.code = Code::invalid_input;
    return tl::unexpected(error);
  }
  if (c.json) {
    c.print({{"address", (*started)->address()}, {"port", (*started)->port()}, {"data_file", c.data_file}});
  } else {
    c.term.line(fmt::format("The page is at {}/", (*started)->address()));
    c.term.quiet(fmt::format("data file {}; only this computer can reach it; Ctrl-C ends it", c.data_file));
  }
  c.environment.out->flush();
  while (!c.environment.stop || !c.environment.stop->load()) std::this_thread::sleep_for(std::chrono::milliseconds(50));
  (*started)->stop();
  if (!c.json) c.term.quiet("ended; everything that was asked is answered");
  return {};
}

}  // namespace ullage::cli
