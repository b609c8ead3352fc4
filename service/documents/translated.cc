#include "service/documents/translated.h"

#include <array>
#include <utility>

#include "engine/drawing/svg.h"

namespace ullage::documents {
namespace {

std::string unescaped(std::string text) {
  static constexpr std::array<std::pair<std::string_view, char>, 5> kEntities = {
      {{"&lt;", '<'}, {"&gt;", '>'}, {"&quot;", '"'}, {"&#39;", '\''}, {"&amp;", '&'}}};
  for (const auto& [entity, sign] : kEntities) {
    for (std::size_t at = text.find(entity); at != std::string::npos; at = text.find(entity, at + 1))
      text.replace(at, entity.size(), 1, sign);
  }
  return text;
}

// The words of an SVG text: what stands in <text>, <title> and <desc>, and what its aria-label says.
std::string svg_translated(const std::string& svg, const Saying& say) {
  std::string out;
  std::size_t at = 0;
  while (at < svg.size()) {
    const std::size_t tag = svg.find('<', at);
    if (tag == std::string::npos) break;
    std::size_t end = svg.find('>', tag);
    if (end == std::string::npos) break;
    out.append(svg, at, tag - at);
    std::string head = svg.substr(tag, end + 1 - tag);
    constexpr std::string_view kLabel = "aria-label=\"";
    if (const std::size_t label = head.find(kLabel); label != std::string::npos) {
      const std::size_t begin = label + kLabel.size(), stop = head.find('"', begin);
      if (stop != std::string::npos)
        head.replace(begin, stop - begin, drawing::escaped(say(unescaped(head.substr(begin, stop - begin)))));
    }
    out += head;
    at = end + 1;
    const bool words = head.rfind("<text", 0) == 0 || head.rfind("<title", 0) == 0 || head.rfind("<desc", 0) == 0;
    if (!words || head[head.size() - 2] == '/') continue;
    const std::size_t close = svg.find('<', at);
    if (close == std::string::npos) break;
    out += drawing::escaped(say(unescaped(svg.substr(at, close - at))));
    at = close;
  }
  return out.append(svg, at, std::string::npos);
}

class Translator {
 public:
  explicit Translator(const Saying& say) : say_(say) {}
  void operator()(std::string& text) const {
    if (!text.empty()) text = say_(text);
  }
  void operator()(Drawing& drawing) const {
    drawing.svg = svg_translated(drawing.svg, say_);
    (*this)(drawing.says);
  }
  void operator()(Paragraph& paragraph) const { (*this)(paragraph.text); }
  void operator()(Bullets& bullets) const {
    for (std::string& item : bullets.items) (*this)(item);
  }
  void operator()(Table& table) const {
    for (auto& [heading, column] : table.columns) (*this)(heading);
    for (auto& row : table.rows) {
      for (Cell& cell : row) {
        (*this)(cell.text);
        for (auto& [drawing, words] : cell.drawn) {
          (*this)(drawing);
          (*this)(words);
        }
      }
    }
  }
  void operator()(std::vector<Block>& blocks) const {
    for (Block& block : blocks) std::visit(*this, block);
  }

 private:
  const Saying& say_;
};

}  // namespace

Document translated(Document paper, const std::string& language, const Saying& say) {
  const Translator translate(say);
  paper.language = language;
  translate(paper.title);
  translate(paper.foot);
  for (Part& part : paper.parts) {
    translate(part.when);
    translate(part.notes);
    for (Group& group : part.groups) {
      translate(group.heading);
      translate(group.aside);
      translate(group.beside);
      translate(group.blocks);
    }
  }
  return paper;
}

std::vector<PlannedSession> translated(std::vector<PlannedSession> sessions, const Saying& say) {
  const Translator translate(say);
  for (PlannedSession& session : sessions) {
    for (PlannedExercise& exercise : session.exercises) {
      translate(exercise.name);
      translate(exercise.text);
      translate(exercise.brief);
    }
  }
  return sessions;
}

}  // namespace ullage::documents
