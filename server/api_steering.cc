// What a lifter's data ask for, and the coach's word on it.
#include "server/routes.h"
#include "server/shown.h"
#include "service/coach/steering.h"

namespace ullage::server {
namespace {

// Accepting is refused on hold; so is rejecting, since nothing is proposed then.
Answer decide(Call& call, bool accepted) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  coach::DecisionWish wish;
  wish.accepted = accepted;
  if (const auto kind = fields.choice("kind", {"lighter week", "stall"}, true))
    wish.kind = static_cast<coach::SteeringKind>(*kind);
  wish.said = fields.text("why").value_or("");
  wish.shown = fields.text("shown").value_or("");
  if (accepted) {
    wish.unasked = fields.flag("unasked").value_or(false);
    wish.week = fields.date("week");
    if (wish.kind == coach::SteeringKind::stall) {
      for (const char* name : {"unasked", "week"}) {
        if (fields.has(name)) fields.wrong(name, "of a lighter week only");
      }
    }
  }
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto gate = call.desk.strict_gate(*lifter, call.desk.today());
  if (!gate) return problem(gate.error());
  if (gate->allowed()) {  // a hold is told before a missing fit
    if (auto fitted = need_fit(call, *lifter); !fitted) return tl::unexpected(fitted.error());
  }
  store::ChangeId change = 0;
  const auto decided = coach::decide(call.desk, lifter->id, wish, &change);
  if (!decided) return refused(call, *lifter, decided.error());
  return json_response({{"decision", coach::to_json(*decided)}, {"change", change}});
}

}  // namespace

Answer get_steering(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  const auto gate = call.desk.strict_gate(*lifter, call.desk.today());
  if (!gate) return problem(gate.error());
  Json json;
  json["lifter"] = lifter->name;
  json["id"] = lifter->id;
  json["today"] = date_text(call.desk.today());
  json["holds"] = gate->allowed() ? Json() : holds_json(*gate);
  json["form"] = nullptr;
  json["proposals"] = json["decided"] = Json::array();
  // On hold nothing that could be read as a prescription is answered.
  if (!gate->allowed()) return json_response(json);
  const auto fitted = need_fit(call, *lifter);
  if (!fitted) return tl::unexpected(fitted.error());
  const auto view = coach::steering(call.desk, *fitted);
  if (!view) return problem(view.error());
  json.update(coach::to_json(*view));
  return json_response(json);
}

Answer post_steering_accept(Call& call) { return decide(call, true); }
Answer post_steering_reject(Call& call) { return decide(call, false); }

}  // namespace ullage::server
