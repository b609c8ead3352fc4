// Pictures as files: SVG as it stands, PNG and PDF by rsvg-convert of Debian's librsvg2-bin, run as a child process.
//
//   write_picture(picture, "growth.pdf")
//
// The file is written beside its place and then moved there: the old one or the new one, never a half. A file of that
// name is replaced.
#pragma once

#include <string>
#include <string_view>

#include "engine/base/result.h"
#include "engine/drawing/picture.h"

namespace ullage::pictures {

enum class Format { svg, png, pdf };
// By the ending of the name, capitals or not. Error: invalid_input with the endings that are known.
Result<Format> format_of(const std::string& path);

struct PictureOptions {
  drawing::Theme theme = drawing::Theme::light;  // a PDF is always in print colours
  double dots_per_millimetre = 12;               // of a PNG; 12 is about 300 dots an inch
  std::string converter = "rsvg-convert";        // program that turns SVG into PNG and PDF; searched in PATH
};

// Errors: invalid_input, the ending is not known; not_found, no such folder; unavailable, the file cannot be written,
// or the converter is not installed (says which package holds it), fails, or takes more than 60 s.
Result<void> write_picture(const drawing::Picture& picture, const std::string& path,
                           const PictureOptions& options = {});

// The same from SVG text: what other parts drew themselves.
Result<void> write_svg(std::string_view svg, const std::string& path, const PictureOptions& options = {});

// Any text, written the same way.
Result<void> write_text(std::string_view text, const std::string& path);

// SVG text as the bytes of a PNG or PDF.
Result<std::string> convert_svg(std::string_view svg, Format format, const PictureOptions& options = {});

}  // namespace ullage::pictures
