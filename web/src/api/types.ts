// Made from docs/api/openapi.json by scripts/api-types.mjs. Do not edit.

/** The one shape of every error. Statuses: 400 malformed, 403 not_allowed and cross_site, 404 not_found, 405 method_not_allowed, 409 conflict, clash, doubtful, not_fitted and cancelled, 413 too_large, 414 address_too_long, 415 unsupported_type, 422 invalid_input, 431 headers_too_large, 500 internal and corrupt, 503 busy, unavailable and newer_version. */
export type Error = { error: { code: "malformed" | "invalid_input" | "not_found" | "conflict" | "clash" | "doubtful" | "not_fitted" | "not_allowed" | "cross_site" | "method_not_allowed" | "too_large" | "headers_too_large" | "address_too_long" | "unsupported_type" | "busy" | "unavailable" | "newer_version" | "corrupt" | "cancelled" | "internal"; message: string; where: string | null; faults?: { where: string | null; message: string }[]; holds?: Held[]; confirm?: string; stored?: Set } };
/** Holds with 80 %. */
export type Interval = { median: number; lo80: number; hi80: number; sd: number };
/** As entered; mark: a number on a machine's own scale. */
export type Load = { amount: number; unit: "kg" | "lb" | "mark" };
/** What every change answers. */
export type Changed = { change: number };
export type Side = "both" | "left" | "right";
export type Kind = "work" | "warmup" | "test";
/** called reserve: 0 to 10 in halves, or open as "5+" */
export type Call = string;
export type Stop = "unknown" | "planned" | "cue" | "failed";
export type Set = { id: string; date: string; session: string; exercise: string; name?: string; side: Side; load: Load; reps: number; failed: boolean; called_reserve: string | null; called_at_rep?: number | null; rest_s: number | null; last_rep_speed?: number | null; kind: Kind; stop: Stop; planned_reps: number | null; cue: string | null; pain: boolean; note: string; place?: string; joined?: string; part_of?: string; part?: number | null; body_mass?: Load | null; tempo?: string; partial_reps?: number | null; extra?: "" | "chain" | "band"; imported?: boolean; suspect?: string; kg?: number | null; at_least?: boolean };
export type SetInput = { sure?: boolean; exercise: string; side?: Side; load: Load; reps: number; date?: string; session?: string; called_reserve?: Call | null; called_at_rep?: number | null; failed?: boolean; rest_s?: number | null; kind?: Kind; stop?: Stop; planned_reps?: number | null; cue?: Call | null; last_rep_speed?: number | null; pain?: boolean; note?: string; place?: string; joined?: string; part_of?: string; part?: number | null; body_mass?: Load | null; tempo?: string; partial_reps?: number | null; extra?: "" | "chain" | "band" };
export type SessionLineInput = { sure?: boolean; text: string; date?: string; session?: string; place?: string; unit?: "kg" | "lb"; dry_run?: boolean };
export type SessionLineReport = { doubts: string[]; date: string; change: number | null; sets: { exercise: string; name: string; side: Side; load: Load; reps: number; failed: boolean; called_reserve: string | null; rest_s: number | null; pain: boolean }[]; pains: string[]; remarks: string[] };
/** Only what is given changes. */
export type SetEdit = { sure?: boolean; exercise?: string; side?: Side; load?: Load; reps?: number; date?: string; session?: string; called_reserve?: Call | null; called_at_rep?: number | null; failed?: boolean; rest_s?: number | null; kind?: Kind; stop?: Stop; planned_reps?: number | null; cue?: Call | null; last_rep_speed?: number | null; pain?: boolean; note?: string; place?: string; joined?: string; part_of?: string; part?: number | null; body_mass?: Load | null; tempo?: string; partial_reps?: number | null; extra?: "" | "chain" | "band" };
export type FloorSetInput = { client_id: string; exercise: string; side?: Side; load: Load; reps: number; date?: string; session?: string; called_reserve?: Call | null; called_at_rep?: number | null; failed?: boolean; rest_s?: number | null; kind?: Kind; stop?: Stop; planned_reps?: number | null; cue?: Call | null; last_rep_speed?: number | null; pain?: boolean; note?: string; place?: string; joined?: string; part_of?: string; part?: number | null; body_mass?: Load | null; tempo?: string; partial_reps?: number | null; extra?: "" | "chain" | "band"; done_at?: string };
/** What was expected of a set before it was done. */
export type Outcome = { capacity: Interval; reserve: Interval; p_complete: number };
export type PlanSet = { kind: Kind; load_kg: number; load: Load; plates: Load[]; reps: number; rest_s: number; stop_cue: { called: string; text: string } | null; capacity: Interval; reserve: Interval; reps_done: Interval; p_complete: number; p_miss: number; p_short: number; p_band: number; to_failure: boolean };
export type PlanItem = { exercise: string; name: string; side: Side; strategy: "same load" | "same reps" | "top set"; band: number[]; miss_limit: number; sets: PlanSet[]; why: string; remarks: string[]; minutes: number };
export type LeftOut = { exercise: string; name?: string; reason: string };
export type SessionPlan = { lifter: string; date: string; items: PlanItem[]; left_out: LeftOut[]; minutes: number; cautions: string[] };
/** What is left out comes from the reserve policy. */
export type ExerciseRequest = { exercise: string; side?: Side; sets?: number; least_reps?: number; most_reps?: number; least_reserve?: number; most_reserve?: number; rest_s?: number; load?: Load; strategy?: "same load" | "same reps" | "top set"; finish?: "as usual" | "failure" | "test" };
export type SessionWish = { date?: string; session?: string; place?: string; exercises?: ExerciseRequest[]; keep?: boolean };
export type SessionSheet = { lifter: string; id: string; date: string; session: string; plan: SessionPlan; why_empty: string; done: Set[]; repeats: string | null; place: { place: string; name: string; assumed: boolean; safety_bars: boolean }; steered: string[]; proposals: SteeringProposal[]; change: number };
export type Held = { id: string; reason: string; lifts: string };
/** What may be prescribed today. */
export type Gate = { allowed: boolean; holds: Held[]; least_reserve: number; least_reserve_from: string; extra_reserve: number; extra_reserve_from: string; load_cap_share: number | null; load_cap_from: string; barred: { exercise: string; name: string; reason: string }[]; failure: boolean; no_failure: string; cautions: string[] };
export type Reason = { kind: "hold" | "pain" | "lighter" | "misses" | "judgement" | "stall" | "unseen" | "suspects" | "not fitted" | "assumed"; text: string };
export type RosterRow = { lifter: string; id: string; reasons: Reason[]; last_session: string | null; sessions: number; sets: number; pending: boolean };
export type Roster = { as_of: string; total: number; standing_out: number; matching: number; offset: number; pending: number; counts: Record<string, number>; lifters: RosterRow[] };
export type BodyMass = { date: string; mass: Load };
export type Lifter = { lifter: string; id: string; born: string | null; sex: "female" | "male" | "unknown"; training_years: number | null; since: string | null; goal: string; unit: "kg" | "lb"; days_per_week: number; minutes_per_session: number; place: string; avoid: string[]; answers_in_halves: boolean; note: string; body_mass: BodyMass[] };
export type LifterInput = { lifter: string; born?: string | null; sex?: "female" | "male" | "unknown"; training_years?: number | null; since?: string | null; goal?: string; unit?: "kg" | "lb"; days_per_week?: number; minutes_per_session?: number; place?: string; avoid?: string[]; note?: string; body_mass?: Load };
/** Only what is given changes. */
export type LifterEdit = { lifter?: string; born?: string | null; sex?: "female" | "male" | "unknown"; training_years?: number | null; since?: string | null; goal?: string; unit?: "kg" | "lb"; days_per_week?: number; minutes_per_session?: number; place?: string; avoid?: string[]; note?: string; body_mass?: Load };
export type LifterPage = { profile: Lifter; gate: Gate; place: { place: string; name: string; assumed: boolean }; fitted: boolean; sessions: number; sets: number; last_session: string | null };
export type StrengthPoint = { date: string; median: number; lo80: number; hi80: number };
export type LiftEstimate = { exercise: string; name: string; side: Side; marks: boolean; strength_kg: Interval; endurance: Interval; reps_at_80: Interval; fatigability: Interval; fatigability_set4: Interval; trend_pct_per_week: Interval; learned: number; learned_fatigability: number; sets_used: number; usual_rest_s: number; first: string; last: string; assumed?: boolean; body_mass_part?: number; multiplier?: number; why?: { strength: string; endurance: string; fatigability: string; trend: string } };
export type Judgement = { bias_reps: Interval; at_called: { called: number; true_reserve: Interval }[]; learned: number; calls?: { called: string; sets: number }[]; why?: string };
export type Estimate = { lifter: string; id?: string; as_of: string; last_session: string; model_version: number; exercises: LiftEstimate[]; judgement: Judgement; readiness: Interval; suspects: (Set & { reason: string })[]; remarks: string[] };
export type LiftDetail = { lifter: string; id: string; estimate: LiftEstimate; history: StrengthPoint[]; sets: Set[]; left_out: number };
export type Sets = { total: number; offset: number; sets: Set[] };
export type LogReport = { lifter: string; change: number; set: Set; expected: Outcome | null; pain_opened: boolean; remarks: string[]; next: { exercise: string; set: PlanSet } | null; no_next: string; rest: SessionPlan | null };
export type FloorSet = { client_id: string | null; at: string | null; set: Set; expected: Outcome | null };
export type Floor = { lifter: string; id: string; unit: "kg" | "lb"; answers_in_halves: boolean; date: string; session: string; started: string | null; finished: string | null; place: { place: string; name: string; assumed: boolean; safety_bars: boolean }; gate: Gate; fitted: boolean; plan: SessionPlan | null; next: { exercise: string; name: string; side: Side; set: PlanSet; work_set: number; work_sets: number } | null; notes: string[]; no_next: string; done: FloorSet[]; rest_since: string | null };
export type FloorLogged = { floor: Floor; logged: { client_id: string; change: number; set: Set; expected: Outcome | null; duplicate: boolean; withdrawn: boolean; pain_opened: boolean; remarks: string[] } };
export type FloorChanged = { floor: Floor; change: number };
export type FloorSession = { lifter: string; id: string; date: string; session: string; started: string | null; finished: string | null; sets: number };
export type Answer = { question: string; answer: "yes" | "no" | "not asked"; detail?: string };
export type Hold = { id: string; since: string; reason: string; lifted: string | null; lifted_by: string };
export type Word = { id: string; date: string; clinician: string; recorded_by: string; least_reserve: number | null; load_cap_share: number | null; only_exercises: string[]; not_exercises: string[]; until: string | null; lifts_holds: string[]; note: string };
export type Pain = { id: string; since: string; exercise: string; note: string; cleared: string | null; cleared_by: string };
export type Health = { intakes: { date: string; recorded_by: string; answers: Answer[] }[]; holds: Hold[]; words: Word[]; consent: { date: string; guardian: string; recorded_by: string } | null; pains: Pain[]; extra_reserve_lifted: { date: string; recorded_by: string } | null };
export type HealthPage = { record: Health; gate: Gate; change: number };
export type Place = { place: string; name: string; unit: "kg" | "lb"; safety_bars: boolean; bars: { id: string; mass: Load }[]; plates: { plate: Load; pairs: number }[]; dumbbells: Load[]; kettlebells: Load[]; stacks: { exercise: string; steps: Load[] }[]; without: string[] };
/** The whole place; what is left out is empty. */
export type PlaceInput = { name: string; unit?: "kg" | "lb"; safety_bars?: boolean; bars?: { id: string; mass: Load }[]; plates?: { plate: Load; pairs: number }[]; dumbbells?: Load[]; kettlebells?: Load[]; stacks?: { exercise: string; steps: Load[] }[]; without?: string[] };
export type ClassPolicy = { class: "barbell compound" | "supported compound" | "isolation"; least_reserve: number; most_reserve: number; last_set_failure: boolean; failure_every_days: number; test_every_days: number; miss_limit: number; least_reps: number; most_reps: number; rest_s: number; sets: number };
export type Policy = { classes: ClassPolicy[]; light_share: number; light_most_reserve: number };
export type PolicyPage = { from: "lifter" | "everyone" | "standard"; policy: Policy; standard: Policy };
export type Exercise = { exercise: string; name: string; aliases: string[]; class: "barbell compound" | "supported compound" | "isolation"; implement: "barbell" | "dumbbell" | "stack" | "plates" | "added mass" | "kettlebell" | "band" | "bodyweight"; muscles: Record<string, number>; multiplier: number; offset_kg: number; body_mass_share: number; usual_step: Load; one_sided: boolean; needs_spotter: boolean; bar: string | null; edited: boolean; own: boolean };
/** Only what is given changes; a new exercise needs name, class, implement and muscles. */
export type ExerciseInput = { name?: string; aliases?: string[]; class?: "barbell compound" | "supported compound" | "isolation"; implement?: "barbell" | "dumbbell" | "stack" | "plates" | "added mass" | "kettlebell" | "band" | "bodyweight"; muscles?: Record<string, number>; multiplier?: number; offset_kg?: number; body_mass_share?: number; usual_step?: Load; one_sided?: boolean; needs_spotter?: boolean; bar?: string | null };
export type Exercises = { total: number; offset: number; exercises: Exercise[] };
/** a week's mean */
export type BlockFigures = { sets: number; failure_sets: number; reserve: number; fatigue_pct: number; effect: number };
export type BlockWish = { template?: string; request?: string; anew?: boolean; weeks?: number; from?: string; days?: { weekday: number; minutes: number; place?: string }[]; goals?: { muscle: string; weight: number }[]; strength?: string[]; lighter_weeks?: number[]; price?: number; alternate?: boolean; place?: string; day_changes?: { date: string; to?: string; minutes?: number }[]; seconds?: number; must?: string[]; ban?: string[]; readings?: string[]; most_week?: number; muscles?: { muscle: string; least_week?: number; most_week?: number }[]; target?: { date: string; kind: "meet" | "photo" }; order?: { first: string; then: string }[]; tests?: { exercise: string; week: number }[]; fixed?: { exercise: string; weekday: number; sets?: number; reserve?: number }[]; balance?: { name?: string; of: string[]; against: string[]; ratio: number }[]; travel?: { from: string; until: string; place?: string; days?: { weekday: number; minutes: number; place?: string }[] }[]; coming_back?: { from: string; weeks?: number; first_share?: number; why?: string }; out?: { exercise: string; from?: string; until?: string; why?: string }; watched?: boolean };
export type BlockItem = { exercise: string; name: string; sets: { sets: number; reserve: number; least_reps: number; most_reps: number; heavy: boolean }[]; test: boolean; why: string };
export type BlockWeek = { monday: string; kind: string; why: string; note: string; effect: number; fatigue_pct: number; muscle_sets: Record<string, number>; days: { date: string; place: string; limit_minutes: number; minutes: number; closed: string; exercises: BlockItem[] }[] };
export type Block = { lifter: string; made: string; name: string; request: string; weeks: BlockWeek[]; solve: { gap: number; seconds: number; stopped: boolean; chosen_for: string; tie: boolean; worst_regret: number }; readings: { name: string; value: number; best: number; found: number; regret: number; gap: number; regret_found: number; rests_on: string; alone: { sets: number; failure_sets: number; reserve: number; fatigue_pct: number; effect: number; same_plan: boolean; days_different: number } }[]; played?: { effect: number[]; fatigue_pct: number; missed: number }; trade_off: { readings: string[]; effect: number[]; fatigue_pct: number; corners: { name: string; effect: number[]; fatigue_pct: number }[] }; changes: string[]; remarks: string[]; cautions: string[]; figures: BlockFigures; edited: boolean; faults: { week: number; date: string | null; rule: string; found: string }[] };
export type KeptBlock = { number: number; state: "proposed" | "accepted" | "rejected" | "replaced"; said: string; block: Block };
export type BlockSummary = { number: number; state: "proposed" | "accepted" | "rejected" | "replaced"; said: string; name: string; made: string; from: string | null; until: string | null; weeks: number };
export type Blocks = { lifter: string; id: string; today: string; holds: Held[] | null; blocks: BlockSummary[]; accepted: KeptBlock | null; proposed: KeptBlock | null; readings: { name: string; rests_on: string }[] };
export type BlockCurve = { readings: string[]; points: { price: number; fatigue_pct: number; effect: number[]; figures: BlockFigures }[]; plan: { price: number; fatigue_pct: number; effect: number[]; figures: BlockFigures }; corners: { name: string; effect: number[]; fatigue_pct: number }[]; number: number; current: boolean };
export type BlockAtPrice = { price: number; weeks: BlockWeek[] };
export type BlockResult = { lifter: string; resolved: boolean; stopped: boolean; change: number | null; none: { rules: string[]; irreducible: boolean } | null };
export type BlockChanged = { block: KeptBlock; change: number };
export type SteeringKind = "lighter week" | "stall";
export type SteeringProposal = { kind: SteeringKind; exercise?: string; name?: string; side?: Side; step?: "closer" | "farther" | "more sets" | "lower reps" | "higher reps" | "other exercise"; probability?: number; from: string; until: string; why: string; what: string };
export type SteeringDecision = { number: number; state: "accepted" | "rejected"; said: string; date: string; proposal: SteeringProposal };
/** how the last two weeks went against what was known before them; shares: -0.03 is 3 % less */
export type SteeringForm = { from: string; to: string; sessions: number; planned: number; missed: number; told: number; chance: number; lifts: number; against_forecast: Interval; p_under: number; readiness: number; spent_against_before: number };
export type Steering = { lifter: string; id: string; today: string; holds: Held[] | null; form: SteeringForm | null; proposals: SteeringProposal[]; decided: SteeringDecision[] };
export type SteeringDecided = { decision: SteeringDecision; change: number };
export type Template = { name: string; title: string; about: string; own: boolean; weeks: number; days: number; toml: string };
export type Measure = { median: number; lo80: number; hi80: number; sd: number; mean: number };
export type ComparedWay = { name: string; words: string; load: Load | null; share_of_strength: number; set_count: number; reached: boolean; sets: { reps: Interval; share: number; to_failure: boolean; asked_reserve: number | null; cue: string | null; fixed_reps: number | null; capacity: Interval; reserve: Interval; p_miss: number }[]; total_reps: Measure; tonnage_kg: Measure; hard_sets: Measure; stimulus: Record<string, Measure>; minutes: number; margin_lost_end: Measure; residual_24h: Measure; p_miss: number; against_first?: { total_reps: Measure; tonnage_kg: Measure; hard_sets: Measure; stimulus: Record<string, Measure>; minutes: number; margin_lost_end: Measure; residual_24h: Measure } };
export type Comparison = { lifter: string | null; exercise: string; name: string; side: Side; date: string; basis: string; by_tonnage: boolean; rest_s: number; known: boolean; marks: boolean; learned: number; finding: string; readings: string[]; strategies: ComparedWay[]; cautions: string[] };
export type CompareWish = { exercise: string; average?: boolean; side?: Side; strategies: string[]; load?: Load; share?: number; reps?: number; sets?: number; rest_s?: number; equal?: "sets" | "volume" | "minutes"; date?: string; place?: string };
export type Settings = { language: "en" | "de"; unit: "kg" | "lb"; date_format: "iso" | "dmy" | "mdy"; decimal: "dot" | "comma"; paper: "a4" | "letter"; week_start: "monday" | "sunday" | "saturday"; clock: "24" | "12"; theme: "auto" | "light" | "dark" };
export type SettingsEdit = { language?: "en" | "de"; unit?: "kg" | "lb"; date_format?: "iso" | "dmy" | "mdy"; decimal?: "dot" | "comma"; paper?: "a4" | "letter"; week_start?: "monday" | "sunday" | "saturday"; clock?: "24" | "12"; theme?: "auto" | "light" | "dark" };
export type ChangeEntry = { change: number; time: string; who: string; what: string; rows: number; undoes: number | null; undone_by: number | null; final: boolean };
export type History = { changes: ChangeEntry[] };
export type Finding = { grade: "fine" | "note" | "fault"; subject: string; text: string };
export type ImportFault = { line: number; column: string; value: string; place?: string; text: string };
export type ImportReport = { change: number; refused: boolean; doubts: ImportFault[]; dry_run?: boolean; rows: number; sets: number; bad_rows: number; fault_count?: number; added: number; unchanged: number; changed: number; applied: number; new_lifters: string[]; pains: { lifter: string; exercise: string; since: string }[]; faults: ImportFault[]; unknown_exercises: { text: string; rows: number; first_line: number; nearest: string[] }[]; remarks: string[]; kept_as_notes: string[]; found: string[]; preview?: { place: string; cells: string[]; lifter: string; set: Record<string, unknown> }[]; dropped: { rule: string; rows: number }[] };
export type Offer = { mapping: string; parts: MappingParts; questions: { key: string; text: string; choices: string[]; required: boolean }[]; found: string[]; headers: string[]; not_mapped: string[]; unknown_exercises: { text: string; rows: number; first_line: number; nearest: string[] }[] };
export type StudyList = { studies: { name: string; file: string; compares: string; studies: number; effects: number }[] };
export type StudyReport = { rows_read: number; effects_used: number; studies_used: number; measure: string; signs: string; dropped: { rule: string; rows: number }[]; left_out: { reason: string; rows: number; first_line: number }[]; worked_out: { reason: string; rows: number; first_line: number }[]; faults: string[]; remarks: string[] };
export type StudyTable = { name: string; file: string; meaning: { toml: string; skip_bad: boolean; measure: string | null; better: string | null; assumed_r: number | null; compares: "" | "short minus failure" | "failure minus short" | "groups" }; refused: boolean; measure_words: string; report: StudyReport; columns: { column: string; numeric: boolean; values: string[] }[]; effects: { line: number; study: string; label: string; effect: number | null; se: number | null }[] };
export type StudyLook = { table: string; toml?: string; skip_bad?: boolean; measure?: string; better?: "" | "more" | "less"; assumed_r?: number | null; compares?: "" | "short minus failure" | "failure minus short" | "groups" };
export type StudyKeep = { table?: string; toml?: string; skip_bad?: boolean; measure?: string; better?: "" | "more" | "less"; assumed_r?: number | null; compares?: "" | "short minus failure" | "failure minus short" | "groups" };
export type StudyQuestion = { about?: string; compares?: "short minus failure" | "failure minus short" | "groups"; by?: string[]; failure?: string; volume?: string; trained?: string };
export type Answers = { question: string; above_zero: string; answers: { about: string; studies: number; effects: number; answered: boolean; estimate?: number | null; ci_lo?: number | null; ci_hi?: number | null; p?: number | null; p_adjusted?: number | null; df?: number | null; prediction?: { lo: number | null; hi: number | null }; without_one?: { lo: number | null; hi: number | null }; checks?: string[]; i2?: number | null; heterogeneity?: number | null; sentence: string }[]; multiplicity: string; table: StudyReport };
export type StudyModel = { check?: boolean; about?: string; method?: "REML" | "ML" | "DL" | "PM" | "EB" | "HE" | "SJ" | "common"; tied?: boolean; knapp_hartung?: boolean; moderators?: string[] };
export type CurveModel = { along: string; spline?: boolean; about?: string; method?: "REML" | "ML" | "DL" | "PM" | "EB" | "HE" | "SJ" | "common"; tied?: boolean; knapp_hartung?: boolean; moderators?: string[] };
export type StudyFit = { model: string; method: string; k: number; studies: number; coefficients: { term: string; estimate: number | null; se: number | null; statistic: number | null; df: number | null; p: number | null; ci_lo: number | null; ci_hi: number | null }[]; tau2: number | null; sigma2: (number | null)[]; q: number | null; q_df: number | null; q_p: number | null; i2: number | null; prediction: { lo: number | null; hi: number | null } | null; tau2_interval?: { lo: number | null; hi: number | null }; sigma2_intervals?: { lo: number | null; hi: number | null }[]; moderators?: { statistic: number | null; df: number | null; df2: number | null; p: number | null }; log_likelihood?: number | null; converged: boolean; random: string[]; robust: boolean; warnings: string[]; table: StudyReport; measure_words: string; log_ratio: boolean; rows: { name: string; effect: number; se: number }[]; effects: { label: string; effect: number | null; se: number | null; x?: number | null }[]; checks?: { without: { without: string; effects: number; estimate: number | null; se: number | null; ci_lo: number | null; ci_hi: number | null; heterogeneity: number | null }[]; words: string[]; egger?: { slope: number | null; t: number | null; df: number | null; p: number | null }; rank?: { tau: number | null; p: number | null; exact: boolean } }; along?: string; curve?: { x: number; estimate: number | null; ci_lo: number | null; ci_hi: number | null; prediction: { lo: number | null; hi: number | null } }[] };
/** growth against failure at equal sets, at 0 to 10 reps in reserve */
export type GrowthReading = { name: string; rests_on: string; median: number[]; lo80: number[]; hi80: number[] };
export type Readings = { shipped: string[]; most: number; kept: GrowthReading[] };
export type ReadingKeep = { studies: string; along: string; spline?: boolean; typical?: number; about?: string; method?: "REML" | "ML" | "DL" | "PM" | "EB" | "HE" | "SJ" | "common"; tied?: boolean; knapp_hartung?: boolean; moderators?: string[] };
export type KeptReading = { change: number; reading: GrowthReading };
export type Published = { results: { id: string; topic: string; quantity: string; value: string; lower: string; upper: string; n: string; unit: string; protocol: string; source: string; doi: string; status: string; note: string }[] };
export type Table = { table: string; name: string; bytes: number; workbook: boolean; sheets: { sheet: string; hidden: boolean }[]; open_format: boolean };
export type Removed = { removed: boolean };
export type CellRow = { row: number; hidden: boolean; cells: { column: string; text: string; kind: "empty" | "text" | "number" | "date" | "time" | "yes or no" | "error" | "no value" }[] };
export type CellSheet = { sheet: string; hidden: boolean; more: boolean; rows: CellRow[] };
export type Cells = { sheets: CellSheet[] };
export type MappingField = { field: string; columns: string[]; join: string; as: string; unit: string };
export type MappingParts = { fields: MappingField[]; constants: { field: string; text: string }[]; sets: { columns: string[]; order: string; unit: string; effort: string } | null; header_row: number; header_rows: number; sheets: string[]; skip_hidden_rows: boolean; date_order: "" | "ymd" | "dmy" | "mdy"; decimal_comma: boolean };
export type MappingPick = { toml: string; picks?: { field: string; columns?: string[]; constant?: string; unit?: string; as?: string; join?: string; order?: string }[]; header_row?: number; header_rows?: number; sheets?: string[]; date_order?: "" | "ymd" | "dmy" | "mdy"; decimal_comma?: boolean; skip_hidden_rows?: boolean };
export type PickedMapping = { mapping: string; parts: MappingParts };
export type TableReading = { sure?: boolean; mapping?: string; toml?: string; lifter?: string; dry_run?: boolean; update?: boolean; skip_bad?: boolean };
export type Mapping = { name: string; toml: string };
export type FitReport = { fitted: number; current: number; unsettled: string[]; failures: { lifter: string; message: string }[] };
export type Job = { job: string; kind: "fit" | "papers" | "plan" | "curve"; state: "running" | "done" | "failed" | "cancelled"; progress: number; text: string; started: string; finished: string | null; result: Record<string, unknown> | null; error: Record<string, unknown> | null };
export type Forecast = { lifter: string; exercise: string; side: Side; date: string; load_kg: number; load: Load; total_kg: number; rest_s: number; sets: { reps: number; capacity: Interval; reserve: Interval; p_complete: number }[]; known: boolean; outside_seen: boolean };
export type ForecastWish = { exercise: string; side?: Side; load: Load; reps: number[]; rest_s?: number; date?: string };
export type About = { version: string; model_version: number; today: string; as_of_fixed: boolean; lifters: number; empty: boolean; data_file: string; sign_in: "none"; changes: number };
export type Count = { table: string; rows: number };

// What each operation takes and answers.
export interface Operations {
  "GET /api/about": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: About;
  };
  "GET /api/openapi.json": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: Record<string, unknown>;
  };
  "GET /api/events": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: Blob;
  };
  "GET /api/roster": {
    path: Record<never, never>;
    query: { sort?: "attention" | "name" | "last_session" | "sessions" | "sets"; order?: "asc" | "desc"; q?: string; kind?: string; offset?: number; limit?: number };
    body: undefined;
    answer: Roster;
  };
  "POST /api/demo": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: { seed?: number };
    answer: { change: number; sets: number; lifters: { lifter: string; story: string }[]; job: Job };
  };
  "POST /api/lifters": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: LifterInput;
    answer: { change: number; profile: Lifter };
  };
  "GET /api/lifters/{lifter}": {
    path: { lifter: string };
    query: Record<never, never>;
    body: undefined;
    answer: LifterPage;
  };
  "PATCH /api/lifters/{lifter}": {
    path: { lifter: string };
    query: Record<never, never>;
    body: LifterEdit;
    answer: { change: number; profile: Lifter };
  };
  "DELETE /api/lifters/{lifter}": {
    path: { lifter: string };
    query: Record<never, never>;
    body: undefined;
    answer: Changed;
  };
  "GET /api/lifters/{lifter}/held": {
    path: { lifter: string };
    query: Record<never, never>;
    body: undefined;
    answer: { tables: Count[] };
  };
  "POST /api/lifters/{lifter}/erase": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { name: string };
    answer: { removed: Count[]; mentions: string[] };
  };
  "POST /api/lifters/{lifter}/body-mass": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { mass: Load; date?: string };
    answer: Changed;
  };
  "GET /api/lifters/{lifter}/estimate": {
    path: { lifter: string };
    query: Record<never, never>;
    body: undefined;
    answer: Estimate;
  };
  "GET /api/lifters/{lifter}/lifts/{exercise}": {
    path: { exercise: string; lifter: string };
    query: { side?: Side; from?: string };
    body: undefined;
    answer: LiftDetail;
  };
  "POST /api/lifters/{lifter}/forecast": {
    path: { lifter: string };
    query: Record<never, never>;
    body: ForecastWish;
    answer: Forecast;
  };
  "GET /api/lifters/{lifter}/sets": {
    path: { lifter: string };
    query: { exercise?: string; from?: string; to?: string; order?: "asc" | "desc"; offset?: number; limit?: number };
    body: undefined;
    answer: Sets;
  };
  "POST /api/lifters/{lifter}/sets": {
    path: { lifter: string };
    query: Record<never, never>;
    body: SetInput;
    answer: LogReport;
  };
  "POST /api/lifters/{lifter}/session-line": {
    path: { lifter: string };
    query: Record<never, never>;
    body: SessionLineInput;
    answer: SessionLineReport;
  };
  "PATCH /api/sets/{set}": {
    path: { set: string };
    query: Record<never, never>;
    body: SetEdit;
    answer: { change: number; set: Set };
  };
  "DELETE /api/sets/{set}": {
    path: { set: string };
    query: Record<never, never>;
    body: undefined;
    answer: Changed;
  };
  "GET /api/lifters/{lifter}/health": {
    path: { lifter: string };
    query: Record<never, never>;
    body: undefined;
    answer: HealthPage;
  };
  "GET /api/health-questions": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: { questions: { question: string; text: string }[] };
  };
  "POST /api/lifters/{lifter}/intake": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { answers: Answer[]; by?: string; date?: string };
    answer: HealthPage;
  };
  "POST /api/lifters/{lifter}/holds": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { reason: string; date?: string };
    answer: HealthPage;
  };
  "POST /api/lifters/{lifter}/holds/{hold}/lift": {
    path: { hold: string; lifter: string };
    query: Record<never, never>;
    body: { ground: string; by?: string; date?: string };
    answer: HealthPage;
  };
  "POST /api/lifters/{lifter}/words": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { clinician: string; least_reserve?: number | null; load_cap_share?: number | null; only_exercises?: string[]; not_exercises?: string[]; until?: string | null; lifts_holds?: string[]; note?: string; by?: string; date?: string };
    answer: HealthPage;
  };
  "POST /api/lifters/{lifter}/words/{word}/end": {
    path: { word: string; lifter: string };
    query: Record<never, never>;
    body: { date?: string };
    answer: HealthPage;
  };
  "PUT /api/lifters/{lifter}/consent": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { guardian: string; by?: string; date?: string };
    answer: HealthPage;
  };
  "DELETE /api/lifters/{lifter}/consent": {
    path: { lifter: string };
    query: Record<never, never>;
    body: undefined;
    answer: HealthPage;
  };
  "POST /api/lifters/{lifter}/pains": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { exercise?: string; note?: string; date?: string };
    answer: HealthPage;
  };
  "POST /api/lifters/{lifter}/pains/{pain}/clear": {
    path: { pain: string; lifter: string };
    query: Record<never, never>;
    body: { by?: string; date?: string };
    answer: HealthPage;
  };
  "POST /api/lifters/{lifter}/settle": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { by?: string; date?: string };
    answer: HealthPage;
  };
  "GET /api/lifters/{lifter}/policy": {
    path: { lifter: string };
    query: Record<never, never>;
    body: undefined;
    answer: PolicyPage;
  };
  "PUT /api/lifters/{lifter}/policy": {
    path: { lifter: string };
    query: Record<never, never>;
    body: Policy;
    answer: Changed;
  };
  "DELETE /api/lifters/{lifter}/policy": {
    path: { lifter: string };
    query: Record<never, never>;
    body: undefined;
    answer: Changed;
  };
  "GET /api/policy": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: PolicyPage;
  };
  "PUT /api/policy": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: Policy;
    answer: Changed;
  };
  "DELETE /api/policy": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: Changed;
  };
  "GET /api/places": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: { places: Place[] };
  };
  "GET /api/places/{place}": {
    path: { place: string };
    query: Record<never, never>;
    body: undefined;
    answer: Place;
  };
  "PUT /api/places/{place}": {
    path: { place: string };
    query: Record<never, never>;
    body: PlaceInput;
    answer: Changed;
  };
  "DELETE /api/places/{place}": {
    path: { place: string };
    query: Record<never, never>;
    body: undefined;
    answer: Changed;
  };
  "GET /api/exercises": {
    path: Record<never, never>;
    query: { q?: string; class?: string; muscle?: string; offset?: number; limit?: number };
    body: undefined;
    answer: Exercises;
  };
  "GET /api/exercises/{exercise}": {
    path: { exercise: string };
    query: Record<never, never>;
    body: undefined;
    answer: Exercise;
  };
  "PUT /api/exercises/{exercise}": {
    path: { exercise: string };
    query: Record<never, never>;
    body: ExerciseInput;
    answer: { change: number; exercise: Exercise };
  };
  "DELETE /api/exercises/{exercise}": {
    path: { exercise: string };
    query: Record<never, never>;
    body: undefined;
    answer: Changed;
  };
  "GET /api/lifters/{lifter}/session": {
    path: { lifter: string };
    query: { date?: string; session?: string; place?: string };
    body: undefined;
    answer: SessionSheet;
  };
  "POST /api/lifters/{lifter}/session": {
    path: { lifter: string };
    query: Record<never, never>;
    body: SessionWish;
    answer: SessionSheet;
  };
  "GET /api/floor": {
    path: Record<never, never>;
    query: { date?: string };
    body: undefined;
    answer: { date: string; sessions: FloorSession[] };
  };
  "GET /api/lifters/{lifter}/floor": {
    path: { lifter: string };
    query: { date?: string; session?: string };
    body: undefined;
    answer: Floor;
  };
  "POST /api/lifters/{lifter}/floor/start": {
    path: { lifter: string };
    query: Record<never, never>;
    body: SessionWish;
    answer: FloorChanged;
  };
  "POST /api/lifters/{lifter}/floor/sets": {
    path: { lifter: string };
    query: Record<never, never>;
    body: FloorSetInput;
    answer: FloorLogged;
  };
  "DELETE /api/lifters/{lifter}/floor/sets/{client_id}": {
    path: { client_id: string; lifter: string };
    query: { date?: string; session?: string };
    body: undefined;
    answer: FloorChanged;
  };
  "GET /api/lifters/{lifter}/floor/alternatives": {
    path: { lifter: string };
    query: { exercise: string; date?: string; session?: string };
    body: undefined;
    answer: { exercises: { exercise: string; name: string; overlap: number; done_before: boolean }[] };
  };
  "POST /api/lifters/{lifter}/floor/swap": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { exercise: string; side?: Side; with: string; date?: string; session?: string };
    answer: FloorChanged;
  };
  "POST /api/lifters/{lifter}/floor/pain": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { exercise: string; note?: string; date?: string; session?: string };
    answer: FloorChanged;
  };
  "POST /api/lifters/{lifter}/floor/finish": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { finished?: boolean; date?: string; session?: string };
    answer: FloorChanged;
  };
  "GET /api/lifters/{lifter}/blocks": {
    path: { lifter: string };
    query: Record<never, never>;
    body: undefined;
    answer: Blocks;
  };
  "POST /api/lifters/{lifter}/blocks": {
    path: { lifter: string };
    query: Record<never, never>;
    body: BlockWish;
    answer: Job;
  };
  "GET /api/lifters/{lifter}/blocks/{number}": {
    path: { lifter: string; number: number };
    query: Record<never, never>;
    body: undefined;
    answer: KeptBlock;
  };
  "POST /api/lifters/{lifter}/blocks/accept": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { why?: string };
    answer: BlockChanged;
  };
  "POST /api/lifters/{lifter}/blocks/reject": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { why?: string };
    answer: BlockChanged;
  };
  "POST /api/lifters/{lifter}/blocks/edit": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { weekday: number; exercise: string; from_week?: number; to_week?: number; sets?: number; reserve?: number };
    answer: BlockChanged;
  };
  "POST /api/lifters/{lifter}/blocks/move": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { weekday: number; to_weekday: number; exercise?: string; from_week?: number; to_week?: number };
    answer: BlockChanged;
  };
  "POST /api/lifters/{lifter}/blocks/note": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { week: number; note: string };
    answer: BlockChanged;
  };
  "GET /api/lifters/{lifter}/blocks/curve": {
    path: { lifter: string };
    query: Record<never, never>;
    body: undefined;
    answer: BlockCurve;
  };
  "POST /api/lifters/{lifter}/blocks/curve": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { watched?: boolean };
    answer: Job;
  };
  "GET /api/lifters/{lifter}/blocks/curve/{point}": {
    path: { lifter: string; point: number };
    query: Record<never, never>;
    body: undefined;
    answer: BlockAtPrice;
  };
  "POST /api/lifters/{lifter}/compare": {
    path: { lifter: string };
    query: Record<never, never>;
    body: CompareWish;
    answer: Comparison;
  };
  "GET /api/lifters/{lifter}/steering": {
    path: { lifter: string };
    query: Record<never, never>;
    body: undefined;
    answer: Steering;
  };
  "POST /api/lifters/{lifter}/steering/accept": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { kind: SteeringKind; why?: string; shown?: string; week?: string; unasked?: boolean };
    answer: SteeringDecided;
  };
  "POST /api/lifters/{lifter}/steering/reject": {
    path: { lifter: string };
    query: Record<never, never>;
    body: { kind: SteeringKind; why?: string; shown?: string };
    answer: SteeringDecided;
  };
  "GET /api/templates": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: { templates: Template[] };
  };
  "PUT /api/templates/{name}": {
    path: { name: string };
    query: Record<never, never>;
    body: { toml: string };
    answer: { change: number };
  };
  "DELETE /api/templates/{name}": {
    path: { name: string };
    query: Record<never, never>;
    body: undefined;
    answer: { change: number };
  };
  "POST /api/fits": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: { lifters?: string[]; anew?: boolean };
    answer: Job;
  };
  "GET /api/jobs": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: { jobs: Job[] };
  };
  "GET /api/jobs/{job}": {
    path: { job: string };
    query: Record<never, never>;
    body: undefined;
    answer: Job;
  };
  "DELETE /api/jobs/{job}": {
    path: { job: string };
    query: { drop?: boolean };
    body: undefined;
    answer: Job;
  };
  "GET /api/jobs/{job}/events": {
    path: { job: string };
    query: Record<never, never>;
    body: undefined;
    answer: Blob;
  };
  "POST /api/imports": {
    path: Record<never, never>;
    query: { name?: string; mapping?: string; lifter?: string; dry_run?: boolean; update?: boolean; skip_bad?: boolean; sure?: boolean };
    body: Blob | string;
    answer: ImportReport;
  };
  "POST /api/tables": {
    path: Record<never, never>;
    query: { name?: string };
    body: Blob | string;
    answer: Table;
  };
  "DELETE /api/tables/{table}": {
    path: { table: string };
    query: Record<never, never>;
    body: undefined;
    answer: Removed;
  };
  "GET /api/tables/{table}/cells": {
    path: { table: string };
    query: { sheet?: string; rows?: number };
    body: undefined;
    answer: Cells;
  };
  "GET /api/tables/{table}/offer": {
    path: { table: string };
    query: Record<never, never>;
    body: undefined;
    answer: Offer;
  };
  "POST /api/tables/{table}/read": {
    path: { table: string };
    query: Record<never, never>;
    body: TableReading;
    answer: ImportReport;
  };
  "POST /api/mappings/pick": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: MappingPick;
    answer: PickedMapping;
  };
  "GET /api/mappings": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: { mappings: Mapping[] };
  };
  "PUT /api/mappings/{name}": {
    path: { name: string };
    query: Record<never, never>;
    body: { toml: string };
    answer: Changed;
  };
  "DELETE /api/mappings/{name}": {
    path: { name: string };
    query: Record<never, never>;
    body: undefined;
    answer: Changed;
  };
  "GET /api/lifters/{lifter}/papers/session": {
    path: { lifter: string };
    query: { date?: string; session?: string; format?: "pdf" | "html"; paper?: "a4" | "letter"; language?: "en" | "de" };
    body: undefined;
    answer: Blob;
  };
  "GET /api/lifters/{lifter}/papers/sheets": {
    path: { lifter: string };
    query: { from?: string; days?: number; format?: "pdf" | "html"; paper?: "a4" | "letter"; language?: "en" | "de" };
    body: undefined;
    answer: Blob;
  };
  "GET /api/lifters/{lifter}/papers/overview": {
    path: { lifter: string };
    query: { from?: string; days?: number; format?: "pdf" | "html"; paper?: "a4" | "letter"; language?: "en" | "de" };
    body: undefined;
    answer: Blob;
  };
  "GET /api/lifters/{lifter}/papers/report": {
    path: { lifter: string };
    query: { format?: "pdf" | "html"; paper?: "a4" | "letter"; language?: "en" | "de" };
    body: undefined;
    answer: Blob;
  };
  "GET /api/lifters/{lifter}/papers/calendar": {
    path: { lifter: string };
    query: { from?: string; days?: number; start?: string; zone?: string; language?: "en" | "de" };
    body: undefined;
    answer: Blob;
  };
  "GET /api/workbook": {
    path: Record<never, never>;
    query: { lifter?: string };
    body: undefined;
    answer: Blob;
  };
  "POST /api/papers": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: { from?: string; days?: number; format?: "pdf" | "html"; paper?: "a4" | "letter"; language?: "en" | "de" };
    answer: Job;
  };
  "GET /api/papers/{paper}": {
    path: { paper: string };
    query: Record<never, never>;
    body: undefined;
    answer: Blob;
  };
  "GET /api/studies": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: StudyList;
  };
  "POST /api/studies": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: StudyLook;
    answer: StudyTable;
  };
  "GET /api/studies/{studies}": {
    path: { studies: string };
    query: Record<never, never>;
    body: undefined;
    answer: StudyTable;
  };
  "PUT /api/studies/{studies}": {
    path: { studies: string };
    query: Record<never, never>;
    body: StudyKeep;
    answer: Changed;
  };
  "DELETE /api/studies/{studies}": {
    path: { studies: string };
    query: Record<never, never>;
    body: undefined;
    answer: Changed;
  };
  "POST /api/studies/{studies}/ask": {
    path: { studies: string };
    query: Record<never, never>;
    body: StudyQuestion;
    answer: Answers;
  };
  "POST /api/studies/{studies}/fit": {
    path: { studies: string };
    query: Record<never, never>;
    body: StudyModel;
    answer: StudyFit;
  };
  "POST /api/studies/{studies}/curve": {
    path: { studies: string };
    query: Record<never, never>;
    body: CurveModel;
    answer: StudyFit;
  };
  "GET /api/readings": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: Readings;
  };
  "PUT /api/readings/{reading}": {
    path: { reading: string };
    query: Record<never, never>;
    body: ReadingKeep;
    answer: KeptReading;
  };
  "DELETE /api/readings/{reading}": {
    path: { reading: string };
    query: Record<never, never>;
    body: undefined;
    answer: Changed;
  };
  "GET /api/published": {
    path: Record<never, never>;
    query: { topic?: string };
    body: undefined;
    answer: Published;
  };
  "GET /api/settings": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: Settings;
  };
  "PATCH /api/settings": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: SettingsEdit;
    answer: { change: number; settings: Settings };
  };
  "GET /api/history": {
    path: Record<never, never>;
    query: { limit?: number };
    body: undefined;
    answer: History;
  };
  "POST /api/undo": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: { change?: number };
    answer: Changed;
  };
  "GET /api/doctor": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: { findings: Finding[] };
  };
  "GET /api/export": {
    path: Record<never, never>;
    query: { lifter?: string };
    body: undefined;
    answer: Blob;
  };
  "GET /api/backup": {
    path: Record<never, never>;
    query: Record<never, never>;
    body: undefined;
    answer: Blob;
  };
  "POST /api/restore": {
    path: Record<never, never>;
    query: { confirm: "replace" };
    body: Blob | string;
    answer: { kept: string };
  };
}
