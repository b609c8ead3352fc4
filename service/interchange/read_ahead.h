// Reading a log while what was read is put away.
#pragma once

#include "service/interchange/read_log.h"

namespace ullage::interchange {

// As read_log, with the reading in a thread of its own, some ten thousand rows ahead at most. The sink and the progress
// are called in the caller's thread, and when the caller's progress says stop, no further row reaches the sink.
// `options.resolve` is called in the other thread: it must bear that while the sink runs. An exception of either side
// ends both and is thrown here.
Result<LogSummary> read_log_ahead(TableSource& source, const ReadLogOptions& options, const SetSink& sink);

}  // namespace ullage::interchange
