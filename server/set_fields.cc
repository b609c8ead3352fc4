#include "server/set_fields.h"

namespace ullage::server {

SetFields read_set(Fields& f, const SetRecord& base, bool whole) {
  SetFields out;
  SetRecord& s = out.set;
  s = base;
  const auto clear = [&](const char* name, auto& field) {
    if (f.is_null(name)) field.reset();
  };
  if (const auto v = f.text("exercise", whole)) s.exercise = *v;
  if (const auto v = f.choice("side", {"both", "left", "right"})) s.side = static_cast<Side>(*v);
  if (const auto v = f.load("load", whole)) s.load = *v;
  if (const auto v = f.whole("reps", 0, 500, whole)) s.reps = *v;
  if (const auto v = f.date("date")) s.date = *v;
  if (const auto v = f.text("session")) s.session = *v;
  clear("called_reserve", s.called);
  if (const auto v = f.call("called_reserve")) s.called = v;
  clear("called_at_rep", s.called_at_rep);
  if (const auto v = f.whole("called_at_rep", 0, 500)) s.called_at_rep = v;
  if (const auto v = f.flag("failed")) s.failed = *v;
  clear("rest_s", s.rest_s);
  if (const auto v = f.number("rest_s", 0, 86400)) s.rest_s = v;
  if (const auto v = f.choice("kind", {"work", "warmup", "test"})) s.kind = static_cast<SetKind>(*v);
  if (const auto v = f.choice("stop", {"unknown", "planned", "cue", "failed"})) {
    s.stop = static_cast<Stop>(*v);
    out.stop_given = true;
  }
  clear("planned_reps", s.planned_reps);
  if (const auto v = f.whole("planned_reps", 0, 500)) s.planned_reps = v;
  clear("cue", s.cue);
  if (const auto v = f.call("cue")) s.cue = v;
  clear("last_rep_speed", s.last_rep_speed);
  if (const auto v = f.number("last_rep_speed", 0, 5)) s.last_rep_speed = v;
  if (const auto v = f.flag("pain")) s.pain = *v;
  if (const auto v = f.text("note")) s.note = *v;
  if (const auto v = f.text("place")) s.place = *v;
  if (const auto v = f.text("joined")) s.joined = *v;
  if (const auto v = f.text("part_of")) s.part_of = *v;
  clear("part", s.part);
  if (const auto v = f.whole("part", 1, 100)) s.part = v;
  clear("body_mass", s.body_mass);
  if (const auto v = f.load("body_mass")) s.body_mass = v;
  if (const auto v = f.text("tempo")) s.tempo = *v;
  clear("partial_reps", s.partial_reps);
  if (const auto v = f.whole("partial_reps", 0, 500)) s.partial_reps = v;
  if (const auto v = f.choice("extra", {"", "chain", "band"})) s.extra_kind = static_cast<ExtraKind>(*v);
  return out;
}

}  // namespace ullage::server
