// Several files as one archive (.zip, stored as they are), for a download.
#pragma once

#include <string>
#include <vector>

#include "engine/base/result.h"

namespace ullage::server {

// Writes the files of `folder` named into `archive`. Each file and the whole stay below 4 GB, else invalid_input.
// Format: PKWARE APPNOTE.TXT 6.3, without compression; names are UTF-8.
Result<void> write_zip(const std::string& archive, const std::string& folder, const std::vector<std::string>& files);

}  // namespace ullage::server
