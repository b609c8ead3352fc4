#include "service/documents/galley.h"

#include <algorithm>
#include <map>

namespace ullage::documents {

void Unref::operator()(void* object) const { g_object_unref(object); }

namespace {

using drawing::Role;

enum class Face { serif, serif_bold, sans };

// How text is set: html.cc has the same measures.
struct Type {
  Face face = Face::serif;
  double size = 10.5, lead = 1.35;
  Role role = Role::ink;
};
constexpr Type kTitle{Face::serif, 20, 1.15}, kHeading{Face::serif_bold, 13, 1.25},
    kAside{Face::serif, 10.5, 1.25, Role::quiet}, kLowHeading{Face::serif_bold, 10.5}, kText{},
    kWhen{Face::serif, 10.5, 1.35, Role::quiet}, kSmall{Face::serif, 8.5, 1.3},
    kQuiet{Face::serif, 8.5, 1.3, Role::quiet}, kKey{Face::serif, 8, 1.3, Role::quiet}, kFoot{Face::sans, 8, 1.2},
    kSetsHead{Face::sans, 8, 1.3, Role::quiet}, kNumber{Face::sans, 10.5, 1.35, Role::quiet},
    kLarge{Face::sans, 15, 1.1}, kCue{Face::sans, 10.5, 1.2}, kPlainHead{Face::sans, 9, 1.35, Role::quiet},
    kPlain{Face::sans, 9, 1.35}, kWeekHead{Face::sans, 8.5, 1.2, Role::quiet}, kWeek{Face::sans, 8.5, 1.2};

constexpr double mm(double millimetres) { return millimetres * kMillimetre; }
constexpr double kBesideExercise = mm(54), kGapExercise = mm(4), kBesideFinding = mm(104), kGapFinding = mm(6);
constexpr double kSetsWidth = mm(126);
constexpr double kCutLines = 4;  // a paragraph of more lines may go over to the next page

struct FreeDescription {
  void operator()(PangoFontDescription* d) const { pango_font_description_free(d); }
};

Held<PangoLayout> layout_of(PangoContext* context, const Type& type, std::string_view text) {
  Held<PangoLayout> layout(pango_layout_new(context));
  const std::unique_ptr<PangoFontDescription, FreeDescription> font(pango_font_description_new());
  pango_font_description_set_family(font.get(), type.face == Face::sans ? "Liberation Sans, DejaVu Sans, sans-serif"
                                                                        : "Liberation Serif, DejaVu Serif, serif");
  pango_font_description_set_size(font.get(), static_cast<int>(type.size * PANGO_SCALE + 0.5));
  if (type.face == Face::serif_bold) pango_font_description_set_weight(font.get(), PANGO_WEIGHT_BOLD);
  pango_layout_set_font_description(layout.get(), font.get());
  pango_layout_set_auto_dir(layout.get(), FALSE);
  pango_layout_set_text(layout.get(), text.data(), static_cast<int>(text.size()));
  return layout;
}

double height_of(PangoLayout* line) {
  int height = 0;
  pango_layout_get_size(line, nullptr, &height);
  return pango_units_to_double(height);
}

// Text that Pango takes: valid UTF-8, and blanks for what is no letter.
std::string plain(std::string_view text) {
  char* valid = g_utf8_make_valid(text.data(), static_cast<gssize>(text.size()));
  std::string out(valid);
  g_free(valid);
  for (char& c : out) {
    if (static_cast<unsigned char>(c) < 0x20 && c != '\n') c = ' ';
  }
  return out;
}

// A paragraph broken into lines, not placed yet.
struct Set {
  std::vector<Held<PangoLayout>> lines;
  double width = 0;  // of the widest
  Type type;
  double high() const { return type.size * type.lead; }
  double height() const { return high() * static_cast<double>(lines.size()); }
};

class Compositor {
 public:
  Compositor(PangoContext* context, double width, double page_height, double air)
      : context_(context), width_(width), page_height_(page_height), air_(air) {}

  Galley compose(const Part& part) {
    const int section = element("Sect", -1);
    line_up(set(part.title, kTitle, width_), 0, element("H1", section));
    y_ += mm(0.5) * air_;
    if (!part.when.empty()) line_up(set(part.when, kWhen, width_), 0, element("P", section));
    y_ += mm(2) * air_;
    for (const Block& note : part.notes) put(note, section, width_);
    if (!part.notes.empty()) y_ += mm(0.7) * air_;
    for (const Group& one : part.groups) group(one, section);
    out_.height = y_;
    return std::move(out_);
  }

 private:
  int element(const char* tag, int parent, const Drawing* drawing = nullptr) {
    out_.elements.push_back({tag, parent, drawing});
    return static_cast<int>(out_.elements.size()) - 1;
  }

  Set set(std::string_view text, const Type& type, double width) {
    Set out;
    out.type = type;
    const std::string whole = plain(text);
    const Held<PangoLayout> paragraph = layout_of(context_, type, whole);
    pango_layout_set_width(paragraph.get(), static_cast<int>(std::max(width, 1.0) * PANGO_SCALE));
    pango_layout_set_wrap(paragraph.get(), PANGO_WRAP_WORD_CHAR);
    const int count = pango_layout_get_line_count(paragraph.get());
    for (int i = 0; i < count; ++i) {
      // Each line is set by itself, so that it ends with a letter and not with the cut itself, which the PDF would
      // carry as an element of its own.
      const PangoLayoutLine* line = pango_layout_get_line_readonly(paragraph.get(), i);
      std::string one =
          whole.substr(static_cast<std::size_t>(pango_layout_line_get_start_index(const_cast<PangoLayoutLine*>(line))),
                       static_cast<std::size_t>(pango_layout_line_get_length(const_cast<PangoLayoutLine*>(line))));
      while (!one.empty() && (one.back() == ' ' || one.back() == '\n')) one.pop_back();
      Held<PangoLayout> alone = layout_of(context_, type, one);
      out.width = std::max(out.width, width_of(alone.get()));
      if (i + 1 < count) {  // words of two lines stay two words for a reader
        one += ' ';
        alone = layout_of(context_, type, one);
      }
      out.lines.push_back(std::move(alone));
    }
    return out;
  }

  void mark(int of, double x, double top, double bottom, std::variant<Words, Rule, Blank, Picture, Nothing> what) {
    out_.marks.push_back({of, x, top, bottom, std::move(what)});
  }
  void rule(double x, double y, double width, double thickness, Role role = Role::ink) {
    mark(kArtifact, x, y, y + thickness, Rule{width, thickness, role});
  }
  // From the top of a line to its base line: that of the face, whatever other letters stand in it.
  double base_of(const Type& type) {
    auto [known, fresh] = measures_.try_emplace({type.face, type.size});
    if (fresh) {
      const Held<PangoLayout> letters = layout_of(context_, type, "Hx");
      known->second = {baseline_of(letters.get()), height_of(letters.get())};
    }
    const auto [base, height] = known->second;
    return (type.size * type.lead - height) / 2 + base;
  }
  // Lines from `top` downwards; where they end.
  double lines(Set&& text, double x, double top, int of, double right_to = 0) {
    const double high = text.high();
    if (static_cast<double>(text.lines.size()) <= kCutLines) out_.together.push_back({top, top + text.height()});
    for (Held<PangoLayout>& line : text.lines) {
      const double base = top + base_of(text.type);
      const double at = right_to > 0 ? right_to - width_of(line.get()) : x;
      mark(of, at, top, top + high, Words{std::move(line), text.type.role, base});
      top += high;
    }
    return top;
  }
  void line_up(Set&& text, double x, int of) { y_ = lines(std::move(text), x, y_, of); }

  // A drawing at most so wide; its height.
  double picture(const Drawing& drawing, double x, double top, double most, int parent, bool to_right = false) {
    const double wide = mm(drawing.width), high = mm(drawing.height);
    const double shrink = std::min({1.0, most / std::max(wide, 1.0), page_height_ * 0.9 / std::max(high, 1.0)});
    const double left = to_right ? x + most - wide * shrink : x;
    mark(element("Figure", parent, &drawing), left, top, top + high * shrink,
         Picture{&drawing, wide * shrink, high * shrink});
    return high * shrink;
  }

  // ---- Blocks, from y_ downwards, at the left edge.
  void put(const Block& block, int parent, double width) {
    std::visit([&](const auto& one) { put(one, parent, width); }, block);
  }
  void put(const Paragraph& p, int parent, double width) {
    const Type& type = p.look == Look::text    ? kText
                       : p.look == Look::key   ? kKey
                       : p.look == Look::quiet ? kQuiet
                                               : kSmall;
    if (p.look == Look::above) y_ += mm(1) * air_;
    if (p.look == Look::key) y_ += mm(1.5) * air_;
    line_up(set(p.text, type, width), 0, element("P", parent));
    if (p.look == Look::text) y_ += mm(1) * air_;
  }
  void put(const Drawing& drawing, int parent, double width) { y_ += picture(drawing, 0, y_, width, parent); }

  void put(const Bullets& bullets, int parent, double width) {
    const double gap = mm(6), indent = mm(4), column = (width - gap) / 2;
    std::vector<Set> items;
    std::vector<double> heights;
    for (const std::string& item : bullets.items) {
      items.push_back(set(item, kSmall, column - indent));
      heights.push_back(items.back().height() + mm(0.5));
    }
    // As many in the first column as make the higher of the two lowest.
    std::size_t first = items.size();
    double least = -1;
    for (std::size_t n = 0; n <= items.size(); ++n) {
      double left = 0, right = 0;
      for (std::size_t i = 0; i < items.size(); ++i) (i < n ? left : right) += heights[i];
      if (least < 0 || std::max(left, right) <= least) {
        least = std::max(left, right);
        first = n;
      }
    }
    const int list = element("L", parent);
    double tops[2] = {y_, y_};
    for (std::size_t i = 0; i < items.size(); ++i) {
      const std::size_t side = i < first ? 0 : 1;
      const double x = side == 0 ? 0 : column + gap;
      const int item = element("LI", list);
      lines(set("\u2022", kSmall, indent), x + mm(1.2), tops[side], element("Lbl", item));
      lines(std::move(items[i]), x + indent, tops[side], element("LBody", item));
      tops[side] += heights[i];
    }
    y_ = std::max(tops[0], tops[1]);
  }

  std::vector<double> column_widths(const Table& table, double width) {
    const std::size_t count = table.columns.size();
    std::vector<double> out(count);
    if (table.kind == Table::Kind::sets) {
      double rest = std::min(width, kSetsWidth);
      for (std::size_t i = 0; i < count; ++i) {
        const Column column = table.columns[i].second;
        out[i] = column == Column::number  ? mm(6)
                 : column == Column::large ? mm(40)
                 : column == Column::box   ? mm(16)
                                           : 0;
        rest -= out[i];
      }
      for (double& w : out) w = w == 0 ? rest : w;
      return out;
    }
    if (table.kind == Table::Kind::week) {
      const double first = mm(30);
      for (std::size_t i = 0; i < count; ++i)
        out[i] = i == 0 ? first : (width - first) / static_cast<double>(std::max<std::size_t>(count - 1, 1));
      return out;
    }
    // Between the longest word and the longest cell of each column.
    std::vector<double> least(count), most(count);
    const auto look = [&](std::size_t i, const std::string& text, const Type& type) {
      const double gap = mm(3);
      most[i] = std::max(most[i], set(text, type, 1e5).width + gap);
      least[i] = std::max(least[i], std::min(set(text, type, mm(12)).width + gap, width / static_cast<double>(count)));
    };
    for (std::size_t i = 0; i < count; ++i) look(i, table.columns[i].first, kPlainHead);
    for (const auto& row : table.rows) {
      for (std::size_t i = 0; i < count; ++i) look(i, row[i].text, kPlain);
    }
    double all_least = 0, all_most = 0;
    for (std::size_t i = 0; i < count; ++i) {
      all_least += least[i];
      all_most += most[i];
    }
    for (std::size_t i = 0; i < count; ++i) {
      if (all_most <= width) {
        out[i] = most[i] * width / all_most;
      } else if (all_least >= width) {
        out[i] = least[i] * width / all_least;
      } else {
        out[i] = least[i] + (most[i] - least[i]) * (width - all_least) / (all_most - all_least);
      }
    }
    return out;
  }

  void put(const Table& table, int parent, double width) {
    const bool sets = table.kind == Table::Kind::sets, week = table.kind == Table::Kind::week;
    const std::vector<double> widths = column_widths(table, width);
    double all = 0;
    for (const double w : widths) all += w;
    const double gap = sets ? mm(2) : mm(3);
    y_ += (sets ? mm(1.5) : mm(1)) * air_;
    const int of_table = element("Table", parent);

    TableHead head;
    head.head.top = y_;
    head.first = out_.marks.size();
    const int head_row = element("TR", element("THead", of_table));
    {
      std::vector<Set> texts;
      double high = 0;
      for (std::size_t i = 0; i < widths.size(); ++i) {
        texts.push_back(set(table.columns[i].first, sets ? kSetsHead : week ? kWeekHead : kPlainHead, widths[i] - gap));
        high = std::max(high, texts.back().height());
      }
      double x = 0;
      for (std::size_t i = 0; i < widths.size(); ++i) {
        lines(std::move(texts[i]), x, y_ + high - texts[i].height(), element("TH", head_row));
        x += widths[i];
      }
      y_ += high + mm(0.5);
    }
    if (!sets) rule(0, y_, all, 0.5);
    head.head.bottom = y_ + 0.5;
    head.last = out_.marks.size();

    const int body = element("TBody", of_table);
    bool first = true;
    for (const std::vector<Cell>& row : table.rows) {
      const double top = y_;
      this->row(table, row, widths, gap, element("TR", body));
      out_.together.push_back({first ? head.head.top : top, y_});
      if (first && table.rows.size() > 1) first_rows_ = {head.head.top, y_};
      first = false;
    }
    head.bottom = y_;
    out_.heads.push_back(head);
  }

  void row(const Table& table, const std::vector<Cell>& cells, const std::vector<double>& widths, double gap, int of) {
    const bool sets = table.kind == Table::Kind::sets, week = table.kind == Table::Kind::week;
    const double above = sets   ? mm(0.7) * air_
                         : week ? mm(0.8) * air_
                                : mm(1) * air_,
                 below = sets   ? mm(0.7) * air_
                         : week ? mm(0.6) * air_
                                : mm(1) * air_;
    const double top = y_;
    double all = 0;
    for (const double w : widths) all += w;
    if (sets) rule(0, top, all, 0.3, Role::rule);
    struct Inside {
      Set text;
      std::vector<std::pair<const Drawing*, Set>> drawn;
      double height = 0;
    };
    std::vector<Inside> insides;
    double high = 0;
    for (std::size_t i = 0; i < cells.size(); ++i) {
      const Column column = table.columns[i].second;
      const Type& type = column == Column::number  ? kNumber
                         : column == Column::large ? kLarge
                         : column == Column::cue   ? kCue
                         : week                    ? kWeek
                                                   : kPlain;
      Inside& inside = insides.emplace_back();
      const double room = widths[i] - gap;
      if (!cells[i].text.empty()) {
        inside.text = set(cells[i].text, type, room);
        for (Type smaller = type; column == Column::large && inside.text.lines.size() > 1 && smaller.size > 11;) {
          smaller.size -= 2;
          inside.text = set(cells[i].text, smaller, room);
        }
        inside.height = inside.text.height();
      }
      for (const auto& [drawing, words] : cells[i].drawn) {
        Set below_it = set(words, type, room);
        const double shrink = std::min(1.0, room / std::max(mm(drawing.width), 1.0));
        inside.height += mm(drawing.height) * shrink + below_it.height() + mm(0.5);
        inside.drawn.emplace_back(&drawing, std::move(below_it));
      }
      if (column == Column::box) inside.height = mm(7.4);
      high = std::max(high, inside.height);
    }
    double x = 0;
    for (std::size_t i = 0; i < cells.size(); ++i) {
      Inside& inside = insides[i];
      const bool is_head = i == 0 && table.rows_have_heads;
      const int cell = element(is_head ? "TH" : "TD", of);
      double at = top + above + (sets ? (high - inside.height) / 2 : 0);
      if (table.columns[i].second == Column::box) {
        mark(cell, x, at, at + mm(7.4), Blank{mm(11.5), mm(7.4)});
      } else if (inside.drawn.empty() && inside.text.lines.empty()) {
        mark(cell, x, at, at, Nothing{});
      } else if (inside.drawn.empty()) {
        lines(std::move(inside.text), x, at, cell);
      } else {
        for (auto& [drawing, words] : inside.drawn) {
          at += picture(*drawing, x, at, widths[i] - gap, cell);
          at = lines(std::move(words), x, at, element("P", cell)) + mm(0.5);
        }
        if (!inside.text.lines.empty()) lines(std::move(inside.text), x, at, element("P", cell));
      }
      x += widths[i];
    }
    y_ = top + above + high + below;
    if (!sets) rule(0, y_, all, 0.3, Role::rule);
  }

  // ---- Groups.
  void heading(const Group& one, int parent, double width) {
    if (one.heading.empty()) return;
    const bool cautions = one.kind == Group::Kind::cautions;
    const Type& type = cautions ? kLowHeading : kHeading;
    const int of = element("H2", parent);
    Set name = set(one.heading, type, width);
    Set aside = set(one.aside, kAside, 1e5);
    const double last = name.lines.empty() ? 0 : width_of(name.lines.back().get());
    const bool with_aside = !one.aside.empty();
    if (with_aside) {
      // The words of the heading stay apart for a reader.
      Held<PangoLayout>& line = name.lines.back();
      const std::string text = std::string(pango_layout_get_text(line.get())) + ' ';
      line = layout_of(context_, type, text);
    }
    const double height = name.height(), high = name.high(), top = y_;
    lines(std::move(name), 0, top, of);
    y_ = top + height;
    if (with_aside && last + mm(1.2) + aside.width <= width) {
      // On the same base line.
      lines(std::move(aside), last + mm(1.2), y_ - high + base_of(type) - base_of(kAside), of);
    } else if (with_aside) {
      line_up(set(one.aside, kAside, width), 0, of);
    }
  }

  void group(const Group& one, int parent) {
    const bool cautions = one.kind == Group::Kind::cautions, exercise = one.kind == Group::Kind::exercise;
    const double begin = y_;
    rule(0, y_, width_, 0.5);
    y_ += 0.5 + mm(1.5) * air_;
    const int of = element("Sect", parent);
    const double side = exercise ? kBesideExercise : std::min(kBesideFinding, width_ * 0.57);
    const double narrow = width_ - side - (exercise ? kGapExercise : kGapFinding);
    const bool drawn = !one.beside.empty();
    first_rows_ = {};
    heading(one, of, exercise && drawn ? narrow : width_);
    const double under = y_;
    double beside = exercise ? begin + 0.5 + mm(1.5) * air_ : y_;
    for (const Block& block : one.beside) {
      if (const auto* drawing = std::get_if<Drawing>(&block)) {
        beside += picture(*drawing, width_ - side, beside, side, of, exercise);
        continue;
      }
      if (const auto* words = std::get_if<Paragraph>(&block)) {
        beside += mm(1);
        Set text = set(words->text, kSmall, side);
        const double end = beside + text.height();
        // Each line ends at the right edge.
        lines(std::move(text), 0, beside, element("P", of), width_);
        beside = end;
      }
    }
    if (!one.heading.empty() && !cautions && !exercise) y_ += mm(1) * air_;
    bool first = true;
    for (const Block& block : one.blocks) {
      put(block, of, drawn && y_ < beside ? narrow : width_);
      if (first)
        out_.together.push_back(
            {begin, first_rows_.bottom > under ? first_rows_.bottom : std::min(y_, under + mm(30))});
      first = false;
    }
    y_ = std::max(y_, beside) + (cautions ? 0 : mm(2.5) * air_);
    if (y_ - begin <= page_height_) out_.together.push_back({begin, y_});
  }

  PangoContext* context_;
  double width_, page_height_, air_;
  double y_ = 0;
  Span first_rows_;
  std::map<std::pair<Face, double>, std::pair<double, double>> measures_;
  Galley out_;
};

}  // namespace

Galley set_galley(PangoContext* context, const Part& part, double width, double page_height, double air) {
  return Compositor(context, width, page_height, air).compose(part);
}

Held<PangoLayout> footer_line(PangoContext* context, const std::string& text) {
  return layout_of(context, kFoot, plain(text));
}

double baseline_of(PangoLayout* line) { return pango_units_to_double(pango_layout_get_baseline(line)); }

double width_of(PangoLayout* line) {
  int width = 0;
  pango_layout_get_size(line, &width, nullptr);
  return pango_units_to_double(width);
}

}  // namespace ullage::documents
