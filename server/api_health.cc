// Health questions, holds, clinicians' words, consent, pain.
#include <algorithm>

#include "server/routes.h"
#include "server/shown.h"
#include "service/coach/pains.h"
#include "service/coach/records.h"

namespace ullage::server {
namespace {

// The record as it is now, what may be prescribed, and the change that made it so.
Answer health_page(Call& call, const Lifter& lifter, store::ChangeId change) {
  const auto library = call.desk.library();
  if (!library) return problem(library.error());
  const auto record = call.store().health(lifter.id);
  if (!record) return problem(record.error());
  const auto gate = call.desk.session_gate(lifter, call.desk.today());
  if (!gate) return problem(gate.error());
  return json_response(
      {{"record", coach::to_json(*record)}, {"gate", gate_json(*gate, **library)}, {"change", change}});
}

Date day_of(Call& call, Fields& fields) {
  const Date day = fields.date("date").value_or(call.desk.today());
  if (day > call.desk.today()) fields.wrong("date", "is after today, " + date_text(call.desk.today()));
  return day;
}

// Reads the body with `read`, then changes the record.
template <class Read>
Answer change_record(Call& call, const std::string& what, Read read) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  const std::function<Result<void>(safety::HealthRecord&)> edit = read(fields);
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto change = coach::change_health(call.desk, *lifter, what, edit);
  if (!change) {
    Error error = change.error();
    // The message speaks to the command line.
    if (const std::size_t at = error.message.find(": ullage word add"); at != std::string::npos)
      error.message.resize(at);
    return problem(error);
  }
  return health_page(call, *lifter, *change);
}

std::vector<std::string> exercise_ids(Call& call, Fields& fields, const std::string& name) {
  std::vector<std::string> out;
  const auto names = fields.texts(name).value_or(std::vector<std::string>{});
  for (const std::string& text : names) {
    const auto exercise = call.desk.exercise(text);
    if (exercise)
      out.push_back((*exercise)->id);
    else
      fields.wrong(name, exercise.error().message);
  }
  return out;
}

using Edit = std::function<Result<void>(safety::HealthRecord&)>;

}  // namespace

Answer get_health(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  return health_page(call, *lifter, 0);
}

Answer get_questions(Call& call) {
  if (auto fine = call.query.done(); !fine) return tl::unexpected(fine.error());
  Json json = Json::array();
  for (int q = 0; q < safety::kQuestionCount; ++q) {
    const auto question = static_cast<safety::Question>(q);
    json.push_back({{"question", safety::question_name(question)}, {"text", safety::question_text(question)}});
  }
  return json_response({{"questions", std::move(json)}});
}

Answer post_intake(Call& call) {
  const auto lifter = call.lifter();
  if (!lifter) return tl::unexpected(lifter.error());
  Fields fields = call.fields();
  safety::Intake intake;
  intake.date = day_of(call, fields);
  intake.recorded_by = call.by(fields);
  std::vector<std::string> names;
  for (int q = 0; q < safety::kQuestionCount; ++q)
    names.emplace_back(safety::question_name(static_cast<safety::Question>(q)));
  if (const Json* answers = fields.list("answers", 50, true)) {
    for (std::size_t i = 0; i < answers->size(); ++i) {
      Fields one((*answers)[i], "answers." + std::to_string(i));
      safety::IntakeAnswer answer;
      const auto question = one.choice("question", names, true);
      const auto word = one.choice("answer", {"not asked", "no", "yes"}, true);
      answer.detail = one.text("detail").value_or("");
      fields.take_faults(one);
      if (!question || !word) continue;
      answer.question = static_cast<safety::Question>(*question);
      answer.answer = static_cast<safety::Answer>(*word);
      intake.answers.push_back(std::move(answer));
    }
    const bool any = std::any_of(intake.answers.begin(), intake.answers.end(),
                                 [](const safety::IntakeAnswer& a) { return a.answer != safety::Answer::not_asked; });
    if (!any) fields.wrong("answers", "at least one answer was expected");
  }
  if (auto fine = fields.done(); !fine) return tl::unexpected(fine.error());
  const auto change = coach::record_intake(call.desk, *lifter, intake);
  if (!change) return problem(change.error());
  return health_page(call, *lifter, *change);
}

Answer post_hold(Call& call) {
  return change_record(call, "hold", [&](Fields& fields) -> Edit {
    safety::Hold hold;
    hold.reason = coach::plain_name(fields.text("reason", true).value_or(""));
    if (hold.reason.empty() && fields.has("reason")) fields.wrong("reason", "say why, in words");
    hold.since = day_of(call, fields);
    return [hold](safety::HealthRecord& r) -> Result<void> {
      coach::add_hold(r, hold);
      return {};
    };
  });
}

Answer post_lift(Call& call) {
  return change_record(call, "hold lifted", [&](Fields& fields) -> Edit {
    const std::string ground = fields.text("ground", true).value_or("");
    const std::string by = call.by(fields);
    const Date day = day_of(call, fields);
    return [=, id = call.parameter("hold")](safety::HealthRecord& r) -> Result<void> {
      if (const auto lifted = coach::lift_hold(r, id, day, by, ground); !lifted) return tl::unexpected(lifted.error());
      return {};
    };
  });
}

Answer post_word(Call& call) {
  return change_record(call, "clinician's word", [&](Fields& fields) -> Edit {
    safety::ClinicianWord word;
    word.date = day_of(call, fields);
    word.recorded_by = call.by(fields);
    word.clinician = coach::plain_name(fields.text("clinician", true).value_or(""));
    if (word.clinician.empty() && fields.has("clinician")) fields.wrong("clinician", "say who said it");
    word.until = fields.date("until");
    if (word.until && *word.until < word.date) fields.wrong("until", "is before the day of the word");
    word.least_reserve = fields.number("least_reserve", 0, 10);
    word.load_cap_share = fields.number("load_cap_share", 0.01, 1);
    word.only_exercises = exercise_ids(call, fields, "only_exercises");
    word.not_exercises = exercise_ids(call, fields, "not_exercises");
    word.note = fields.text("note").value_or("");
    const auto lifts = fields.texts("lifts_holds").value_or(std::vector<std::string>{});
    return [word, lifts](safety::HealthRecord& r) -> Result<void> {
      if (const auto id = coach::add_word(r, word, lifts); !id)
        return fail(Code::invalid_input, "lifts_holds: " + id.error().message);
      return {};
    };
  });
}

Answer post_word_end(Call& call) {
  return change_record(call, "clinician's word ended", [&](Fields& fields) -> Edit {
    const Date day = day_of(call, fields);
    return [day, id = call.parameter("word")](safety::HealthRecord& r) -> Result<void> {
      return coach::end_word(r, id, day);
    };
  });
}

Answer put_consent(Call& call) {
  return change_record(call, "guardian's consent", [&](Fields& fields) -> Edit {
    safety::GuardianConsent consent;
    consent.date = day_of(call, fields);
    consent.guardian = coach::plain_name(fields.text("guardian", true).value_or(""));
    if (consent.guardian.empty() && fields.has("guardian")) fields.wrong("guardian", "say who consents");
    consent.recorded_by = call.by(fields);
    return [consent](safety::HealthRecord& r) -> Result<void> {
      r.consent = consent;
      return {};
    };
  });
}

Answer delete_consent(Call& call) {
  return change_record(call, "guardian's consent taken back", [&](Fields&) -> Edit {
    return [](safety::HealthRecord& r) -> Result<void> {
      r.consent.reset();
      return {};
    };
  });
}

Answer post_pain(Call& call) {
  return change_record(call, "pain", [&](Fields& fields) -> Edit {
    safety::Pain pain;
    pain.since = day_of(call, fields);
    pain.note = fields.text("note").value_or("");
    const std::string name = fields.text("exercise").value_or("");
    if (!name.empty()) {
      if (const auto exercise = call.desk.exercise(name))
        pain.exercise = (*exercise)->id;
      else
        fields.wrong("exercise", exercise.error().message);
    }
    return [pain](safety::HealthRecord& r) -> Result<void> {
      coach::add_pain(r, pain);
      return {};
    };
  });
}

Answer post_clear(Call& call) {
  return change_record(call, "pain cleared", [&](Fields& fields) -> Edit {
    const Date day = day_of(call, fields);
    const std::string by = call.by(fields);
    return [=, id = call.parameter("pain")](safety::HealthRecord& r) -> Result<void> {
      for (safety::Pain& p : r.pains) {
        if (p.id != id) continue;
        if (p.cleared) return fail(Code::conflict, "that pain is cleared already");
        p.cleared = day;
        p.cleared_by = by;
        return {};
      }
      return fail(Code::not_found, "no pain \"" + id + "\" is on record");
    };
  });
}

Answer post_settle(Call& call) {
  return change_record(call, "extra reserve lifted", [&](Fields& fields) -> Edit {
    safety::ExtraReserveLifted lifted;
    lifted.date = day_of(call, fields);
    lifted.recorded_by = call.by(fields);
    return [lifted](safety::HealthRecord& r) -> Result<void> {
      r.extra_reserve_lifted = lifted;
      return {};
    };
  });
}

}  // namespace ullage::server
