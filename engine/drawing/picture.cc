#include "engine/drawing/picture.h"

namespace ullage::drawing {

void Picture::text(At at, std::string_view words, Anchor anchor, Role role, double size) {
  Text t;
  t.at = at;
  t.text = std::string(words);
  t.anchor = anchor;
  t.role = role;
  t.size = size;
  add(t);
}

double Picture::heading(std::string_view more) {
  double y = kMargin;
  constexpr double kStrong = 1.07;  // strong letters are so much wider than the table has them
  for (const std::string& line : wrapped(title_, kTitle * kStrong, width_ - 2 * kMargin, Face::serif)) {
    y += kTitle;
    Text t;
    t.at = {kMargin, y};
    t.text = line;
    t.size = kTitle;
    t.face = Face::serif;
    t.strong = true;
    add(t);
    y += 4;
  }
  return more.empty() ? y + 8 : note(y, more) + 4;
}

double Picture::note(double top, std::string_view words, Role role) {
  for (const std::string& line : wrapped(words, kSmall, width_ - 2 * kMargin)) {
    text({kMargin, top + kSmall}, line, Anchor::start, role);
    top += kSmall + 4;
  }
  return top + 4;
}

}  // namespace ullage::drawing
