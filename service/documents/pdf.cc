#include "service/documents/pdf.h"

#include <cairo-pdf.h>
#include <fmt/format.h>
#include <librsvg/rsvg.h>
#include <pango/pangocairo.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <optional>

#include "service/documents/finish_pdf.h"
#include "service/documents/galley.h"

#if defined(__SANITIZE_ADDRESS__)
#define ULLAGE_LEAKS_LOOKED_FOR
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define ULLAGE_LEAKS_LOOKED_FOR
#endif
#endif
#ifdef ULLAGE_LEAKS_LOOKED_FOR
// fontconfig keeps a pattern's values by their distance from it, not by address, so that they look lost while the fonts
// of the process still hold them. Nothing else is passed over.
extern "C" const char* __lsan_default_suppressions();
extern "C" const char* __lsan_default_suppressions() { return "leak:libfontconfig.so\n"; }
#endif

namespace ullage::documents {
namespace {

namespace fs = std::filesystem;
using drawing::Role;

constexpr double kSide = 13 * kMillimetre, kTop = 12 * kMillimetre, kBottom = 14 * kMillimetre;
constexpr double kFootAbove = 6.5 * kMillimetre;  // base line of the foot above the edge of the sheet
constexpr double kNearlyEmpty = 0.3;              // of a page: below that the part is set again with less air
constexpr double kLessAir = 0.45;

struct Destroy {
  void operator()(cairo_t* c) const { cairo_destroy(c); }
  void operator()(cairo_surface_t* s) const { cairo_surface_destroy(s); }
};

// A page's piece of a galley.
struct Cut {
  double top = 0, bottom = 0;
  const TableHead* head = nullptr;  // of the table that goes on
};

// Where the strip is cut: as low as the page allows, where nothing is painted and nothing is to stay together; failing
// that, where nothing is painted.
std::vector<Cut> cut(const Galley& galley, double page_height) {
  std::vector<double> bottoms;
  for (const Mark& mark : galley.marks) bottoms.push_back(mark.bottom);
  for (const Span& span : galley.together) bottoms.push_back(span.bottom);
  std::sort(bottoms.begin(), bottoms.end());
  bottoms.erase(std::unique(bottoms.begin(), bottoms.end()), bottoms.end());
  constexpr double kHair = 1e-6;
  const auto free = [&](double y, bool strict) {
    const auto inside = [y](double top, double bottom) { return top < y - kHair && bottom > y + kHair; };
    return std::none_of(galley.marks.begin(), galley.marks.end(),
                        [&](const Mark& m) { return inside(m.top, m.bottom); }) &&
           (!strict || std::none_of(galley.together.begin(), galley.together.end(),
                                    [&](const Span& s) { return inside(s.top, s.bottom); }));
  };
  std::vector<Cut> out;
  double top = 0;
  for (;;) {
    Cut page;
    page.top = top;
    for (const TableHead& head : galley.heads) {
      if (top > head.head.bottom + kHair && top < head.bottom - kHair) page.head = &head;
    }
    const double room = page_height - (page.head ? page.head->head.bottom - page.head->head.top : 0);
    page.bottom = galley.height;
    if (galley.height - top > room) {
      std::optional<double> end;
      for (const bool strict : {true, false}) {
        for (auto at = std::upper_bound(bottoms.begin(), bottoms.end(), top + room); !end && at != bottoms.begin();) {
          --at;
          if (*at <= top + kHair) break;
          if (free(*at, strict)) end = *at;
        }
      }
      page.bottom = end ? *end : top + room;
    }
    out.push_back(page);
    if (page.bottom >= galley.height) return out;
    top = page.bottom;
    // What is left may be nothing but margins.
    const bool more = std::any_of(galley.marks.begin(), galley.marks.end(),
                                  [&](const Mark& m) { return m.top >= top - kHair && m.bottom > m.top; });
    if (!more) return out;
  }
}

class Painter {
 public:
  Painter(cairo_t* cairo, PangoContext* context) : cairo_(cairo), context_(context) {}

  std::size_t without_letters() const { return without_letters_; }
  // What the figures say, in the order in which they were painted.
  const std::vector<std::string>& figures() const { return figures_; }

  void page(const Galley& galley, const Cut& piece, const std::string& left, const std::string& right, double width,
            double page_height) {
    double down = kTop - piece.top;
    if (piece.head != nullptr) {
      down += piece.head->head.bottom - piece.head->head.top;
      for (std::size_t i = piece.head->first; i < piece.head->last; ++i)
        paint(galley.marks[i], kTop - piece.head->head.top, true);
    }
    constexpr double kHair = 1e-6;
    for (const Mark& mark : galley.marks) {
      if (mark.top < piece.top - kHair || mark.top >= piece.bottom - kHair) continue;
      enter(galley, mark.element);
      paint(mark, down, false);
    }
    leave_leaf();
    foot(left, kSide, width, page_height, false);
    foot(right, kSide + width, width, page_height, true);
    cairo_show_page(cairo_);
  }
  void end_of_part() {
    while (!open_.empty()) leave();
  }

 private:
  void ink(Role role) {
    const std::string_view text = drawing::colour(role, drawing::Theme::print);
    const auto part = [&](std::size_t at) { return std::stoi(std::string(text.substr(at, 2)), nullptr, 16) / 255.0; };
    cairo_set_source_rgb(cairo_, part(1), part(3), part(5));
  }

  void leave() {
    cairo_tag_end(cairo_, open_.back().second);
    open_.pop_back();
    leaf_ = false;
  }
  void leave_leaf() {
    if (leaf_) leave();
  }
  // Opens and closes elements until the one that a mark belongs to is open.
  void enter(const Galley& galley, int element) {
    if (element == kArtifact) return leave_leaf();
    std::vector<int> path;
    for (int at = element; at >= 0; at = galley.elements[static_cast<std::size_t>(at)].parent) path.push_back(at);
    std::reverse(path.begin(), path.end());
    std::size_t same = 0;
    while (same < path.size() && same < open_.size() && open_[same].first == path[same]) ++same;
    while (open_.size() > same) leave();
    for (; same < path.size(); ++same) {
      const char* tag = galley.elements[static_cast<std::size_t>(path[same])].tag;
      cairo_tag_begin(cairo_, tag, nullptr);
      open_.emplace_back(path[same], tag);
    }
    leaf_ = true;
  }

  void paint(const Mark& mark, double down, bool again) {
    const bool artifact = again || mark.element == kArtifact;
    if (artifact) cairo_tag_begin(cairo_, kArtifactTag, nullptr);
    std::visit([&](const auto& what) { paint(mark, what, down); }, mark.what);
    if (artifact) cairo_tag_end(cairo_, kArtifactTag);
  }
  void paint(const Mark& mark, const Words& words, double down) {
    ink(words.role);
    cairo_move_to(cairo_, kSide + mark.x, words.baseline + down);
    PangoLayout* line = words.line.get();
    pango_cairo_show_layout_line(cairo_, pango_layout_get_line_readonly(line, 0));
    without_letters_ += static_cast<std::size_t>(std::max(pango_layout_get_unknown_glyphs_count(line), 0));
  }
  void paint(const Mark& mark, const Rule& rule, double down) {
    ink(rule.role);
    cairo_rectangle(cairo_, kSide + mark.x, mark.top + down, rule.width, rule.thickness);
    cairo_fill(cairo_);
  }
  void paint(const Mark& mark, const Blank& box, double down) {
    constexpr double kLine = 0.8;
    ink(Role::ink);
    cairo_set_line_width(cairo_, kLine);
    cairo_rectangle(cairo_, kSide + mark.x + kLine / 2, mark.top + down + kLine / 2, box.width - kLine,
                    box.height - kLine);
    cairo_stroke(cairo_);
  }
  void paint(const Mark& mark, const Picture& picture, double down) {
    figures_.push_back(picture.drawing->says);
    const std::string& svg = picture.drawing->svg;
    const Held<RsvgHandle> handle(
        rsvg_handle_new_from_data(reinterpret_cast<const guint8*>(svg.data()), svg.size(), nullptr));
    if (!handle) return;
    const RsvgRectangle place{kSide + mark.x, mark.top + down, picture.width, picture.height};
    cairo_save(cairo_);
    rsvg_handle_render_document(handle.get(), cairo_, &place, nullptr);
    cairo_restore(cairo_);
  }
  void paint(const Mark&, const Nothing&, double) {}

  void foot(const std::string& text, double x, double width, double page_height, bool to_left) {
    const Held<PangoLayout> line = footer_line(context_, text);
    pango_layout_set_ellipsize(line.get(), PANGO_ELLIPSIZE_END);
    const double most = width * 0.8;
    if (width_of(line.get()) > most) pango_layout_set_width(line.get(), static_cast<int>(most * PANGO_SCALE));
    ink(Role::ink);
    cairo_tag_begin(cairo_, kArtifactTag, nullptr);
    cairo_move_to(cairo_, to_left ? x - width_of(line.get()) : x, kTop + page_height + kBottom - kFootAbove);
    pango_cairo_show_layout_line(cairo_, pango_layout_get_line_readonly(line.get(), 0));
    cairo_tag_end(cairo_, kArtifactTag);
  }

  cairo_t* cairo_;
  PangoContext* context_;
  std::vector<std::pair<int, const char*>> open_;
  bool leaf_ = false;  // the innermost of them holds what is painted
  std::size_t without_letters_ = 0;
  std::vector<std::string> figures_;
};

cairo_status_t take(void* closure, const unsigned char* data, unsigned int length) {
  static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

}  // namespace

Result<Pdf> pdf(const Document& document) {
  const double sheet_width = document.paper == Paper::a4 ? 210 * kMillimetre : 8.5 * 72,
               sheet_height = document.paper == Paper::a4 ? 297 * kMillimetre : 11 * 72;
  const double width = sheet_width - 2 * kSide, page_height = sheet_height - kTop - kBottom;
  Pdf out;
  std::string painted;
  std::unique_ptr<cairo_surface_t, Destroy> surface(
      cairo_pdf_surface_create_for_stream(take, &painted, sheet_width, sheet_height));
  std::unique_ptr<cairo_t, Destroy> cairo(cairo_create(surface.get()));
  const Held<PangoContext> context(pango_cairo_create_context(cairo.get()));
  pango_cairo_context_set_resolution(context.get(), 72);
  pango_context_set_round_glyph_positions(context.get(), FALSE);
  pango_context_set_language(context.get(), pango_language_from_string(document.language.c_str()));

  std::vector<Galley> galleys;
  std::vector<std::vector<Cut>> cuts;
  FinishedPdf finish;
  finish.title = document.title;
  finish.language = document.language;
  for (const Part& part : document.parts) {
    Galley galley = set_galley(context.get(), part, width, page_height);
    std::vector<Cut> pages = cut(galley, page_height);
    if (pages.size() > 1 && pages.back().bottom - pages.back().top < kNearlyEmpty * page_height) {
      Galley closer = set_galley(context.get(), part, width, page_height, kLessAir);
      std::vector<Cut> fewer = cut(closer, page_height);
      if (fewer.size() < pages.size()) {
        galley = std::move(closer);
        pages = cut(galley, page_height);
      }
    }
    out.pages += pages.size();
    galleys.push_back(std::move(galley));
    cuts.push_back(std::move(pages));
  }
  Painter painter(cairo.get(), context.get());
  cairo_tag_begin(cairo.get(), "Document", nullptr);
  std::size_t number = 0;
  const auto foot = around_numbers(document.foot);
  for (std::size_t i = 0; i < galleys.size(); ++i) {
    for (Cut& piece : cuts[i])
      painter.page(galleys[i], piece, document.parts[i].title,
                   fmt::format("{}{}{}{}{}", foot[0], ++number, foot[1], out.pages, foot[2]), width, page_height);
    painter.end_of_part();
  }
  cairo_tag_end(cairo.get(), "Document");
  out.without_letters = painter.without_letters();
  finish.figures = painter.figures();
  cairo_surface_finish(surface.get());
  const cairo_status_t status = cairo_surface_status(surface.get());
  if (status != CAIRO_STATUS_SUCCESS)
    return fail(Code::unavailable, std::string("the PDF could not be made: ") + cairo_status_to_string(status));
  auto bytes = finished_pdf(painted, finish);
  if (!bytes) return tl::unexpected(bytes.error());
  out.bytes = std::move(*bytes);
  return out;
}

Result<Pdf> write_pdf(const Document& document, const std::string& file) {
  auto made = pdf(document);
  if (!made) return made;
  if (const auto put = write_whole_file(file, made->bytes); !put) return tl::unexpected(put.error());
  return made;
}

Result<void> write_whole_file(const std::string& path, std::string_view bytes) {
  const fs::path place(path);
  std::error_code problem;
  const fs::path folder = place.has_parent_path() ? place.parent_path() : fs::path(".");
  if (!fs::is_directory(folder, problem)) return fail(Code::not_found, "no folder " + folder.string());
  const std::string part = path + "." + std::to_string(::getpid()) + ".part";
  std::ofstream out(part, std::ios::binary);
  out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  out.close();
  bool good = static_cast<bool>(out);
  if (good) {
    fs::rename(part, path, problem);
    good = !problem;
  }
  if (good) return {};
  fs::remove(part, problem);
  return fail(Code::unavailable, path + " cannot be written (disk full, or no permission)");
}

}  // namespace ullage::documents
