// The whole capacity model of docs/model.md, sections 1 to 5, for one lifter's log: an independent second writing of
// the equations, for a full sampler. Natural-log margins, kg, minutes, days. Rows of data are in the order done.
//
// What the program integrates out is a parameter here: the margin M that a set really had. Each set that needs it (a
// call, a cue, a speed, an unknown stop) has one standard normal w that goes to M through the inverse of the normal
// distribution cut to what the set's end allows; chance_seen() integrates to the set's likelihood over w ~ N(0, 1). The
// sampler needs no quadrature for it. The quadrature below (log_density) uses the same function and only serves the
// comparison with the program's own log density.
//
// Nothing is frozen: residual fatigue of earlier sessions, the doubt of unknown rests and the wider noise outside the
// tested range follow the parameters.
functions {
  // C(x) and its inverse m(r), section 1.
  real reps_to_failure(real x, real k, real p) {
    return p > 0 ? 1 + k * expm1(p * x) / p : 1 + k * x;
  }
  real margin_for_reps(real r, real k, real p) {
    return p > 0 ? log1p(p * (r - 1) / k) / p : (r - 1) / k;
  }
  real smooth_max(real a, real b) {
    return b + log1p_exp(8 * (a - b)) / 8;
  }
  // Margin that a usual set suggests with this endurance and judgement. Strength is sampled relative to it, and
  // as the mean over the log: what a log knows well is where strength stands on the whole given k, b and g.
  real suggested_margin(real n, real heard, int on_cue, int unknown, real k, real p, real b, real g, real e,
                        real usual_reserve) {
    real reserve = 0.5;
    if (heard >= 0) reserve = smooth_max((heard + b + (on_cue ? e : 0.0)) / g, 0);
    else if (unknown) reserve = usual_reserve;
    return margin_for_reps(n + reserve, k, p);
  }

  // P(lo < z <= hi), stable in both tails.
  real normal_between(real lo, real hi) {
    return lo > 0 ? Phi(-lo) - Phi(-hi) : Phi(hi) - Phi(lo);
  }

  // Section 3: column 1 the margin x of every set, column 2 d fatigue / d log rest. `fresh`: log strength of the day
  // less log load, before fatigue and residual.
  matrix walk(vector fresh, vector k, real a_fast, real a_slow, real tau_fast, real lam, real a_day,
              int[] session, int[] lift, int[] reps, int[] failed, vector rest, int[] day, int[,] in_session,
              matrix overlap, vector shape, real tau_slow, real rho_f, real minutes_per_rep, real residual_decay,
              real residual_gone) {
    int N = rows(fresh);
    int L = rows(k);
    int S = size(day);
    matrix[N, 2] out;
    matrix[S, L] spent = rep_matrix(0, S, L);
    vector[L] fast = rep_vector(0, L);
    vector[L] slow = rep_vector(0, L);
    vector[L] residual = rep_vector(0, L);
    for (i in 1:N) {
      int s = session[i];
      int l = lift[i];
      real fatigue = 0;
      real by_log_rest = 0;
      real x;
      real capacity;
      real left;
      real depletion;
      int first = 1;
      if (i > 1) if (session[i - 1] == s) first = 0;
      if (first) {
        fast = rep_vector(0, L);
        slow = rep_vector(0, L);
        residual = rep_vector(0, L);
        for (b in 1:(s - 1)) {
          real gap = fmax(day[s] - day[b], 0.25);
          if (gap <= residual_gone) {
            for (from in 1:L) if (in_session[b, from])
              for (to in 1:L) if (in_session[s, to])
                residual[to] += exp(-gap / residual_decay) * overlap[from, to] * spent[b, from];
          }
        }
      } else {
        real gap = rest[i] + reps[i - 1] * minutes_per_rep;
        real keep_fast = exp(-gap / tau_fast);
        real keep_slow = exp(-gap / tau_slow);
        for (from in 1:L) if (in_session[s, from]) {
          fast[from] *= keep_fast;
          slow[from] *= keep_slow;
          fatigue += overlap[from, l] * (fast[from] + slow[from]);
          by_log_rest -= overlap[from, l] * rest[i] * (fast[from] / tau_fast + slow[from] / tau_slow);
        }
      }
      x = fresh[i] - a_day * residual[l] - fatigue;
      capacity = reps_to_failure(x, k[l], shape[l]);
      left = failed[i] ? 0 : smooth_max(capacity - reps[i], 0);
      depletion = margin_for_reps(smooth_max(capacity, reps[i] + 0.5 * failed[i]), k[l], shape[l])
                  - margin_for_reps(left, k[l], shape[l]);
      if (depletion < 0) depletion = 0;
      fast[l] += a_fast * depletion;
      slow[l] += a_slow * depletion * (lam + (1 - lam) * exp(-left / rho_f));
      spent[s, l] += depletion;
      out[i, 1] = x;
      out[i, 2] = by_log_rest;
    }
    return out;
  }

  // z at which a feeling meets one end (section 2); end: given or not, bound, reps before the last, waiting for a cue.
  real end_of_feeling(real bound, real shift, real on_cue, real left, real b, real g, real s0, real s1, real e) {
    real rho = left + shift;
    real bias = on_cue > 0 ? b + e : b;
    return (bound + bias - g * rho) / (s0 + s1 * rho);  // rho is not below 0: a set has at least the reps done in it
  }
  real chance_felt(vector feeling, real left, real b, real g, real s0, real s1, real e) {
    int bounded = 0;
    real lo = 0;
    if (feeling[1] > 0) {
      lo = end_of_feeling(feeling[2], feeling[3], feeling[4], left, b, g, s0, s1, e);
      bounded = 1;
    }
    if (feeling[5] > 0) {
      real before = end_of_feeling(feeling[6], feeling[7], feeling[8], left, b, g, s0, s1, e);
      lo = bounded ? fmax(lo, before) : before;
      bounded = 1;
    }
    if (feeling[9] > 0) {
      real hi = end_of_feeling(feeling[10], feeling[11], feeling[12], left, b, g, s0, s1, e);
      if (!bounded) return Phi(hi);
      return lo < hi ? normal_between(lo, hi) : 0;
    }
    return bounded ? Phi(-lo) : 1;
  }

  // Chance that a slip of the pen explains a set; a failed rep that tells of less than expected is none.
  real slip(real outlier, real x, real k, real p, int n, int failed) {
    return failed && x > margin_for_reps(n + 1, k, p) ? 0 : outlier;
  }

  // A set that only tells how it ended.
  real chance_ended(real x, real sigma, real k, real p, int n, int failed) {
    real upper;
    if (!failed) return Phi((x - margin_for_reps(n, k, p)) / sigma);
    upper = (margin_for_reps(n + 1, k, p) - x) / sigma;
    return n == 0 ? Phi(upper) : normal_between((margin_for_reps(n, k, p) - x) / sigma, upper);
  }

  // Everything one set tells, given its w; the mean over w ~ N(0, 1) is its likelihood.
  real chance_seen(real w, real x, real sigma, real k, real p, int n, int failed, int unknown, vector feeling,
                   int has_feeling, real b, real g, real s0, real s1, real e, real usual, int has_speed, real speed,
                   real v0, real v_slope, real v_noise) {
    real lower = (margin_for_reps(n, k, p) - x) / sigma;
    real mass;
    real eps;
    real left;
    real out;
    if (failed) {
      real upper = (margin_for_reps(n + 1, k, p) - x) / sigma;
      mass = normal_between(lower, upper);
      if (mass < 1e-280) return 0;
      if (lower > 0 || (upper > 0 && w > 0)) eps = -inv_Phi(Phi(-upper) + mass * Phi(-w));
      else eps = inv_Phi(Phi(lower) + mass * Phi(w));
    } else {
      mass = Phi(-lower);
      if (mass < 1e-280) return 0;
      if (lower > 0 || w > 0) eps = -inv_Phi(mass * Phi(-w));
      else eps = inv_Phi(Phi(lower) + mass * Phi(w));
    }
    left = fmax(reps_to_failure(x + sigma * eps, k, p) - n, 0);
    out = mass;
    if (has_feeling) out *= chance_felt(feeling, left, b, g, s0, s1, e);
    if (unknown) {
      real rate = 2 / usual;
      real all = rate * fmax(n + left - 0.5, 0.5);
      out *= square(rate) * left * exp(-rate * left) / (1 - (1 + all) * exp(-all));
    }
    if (has_speed) out *= exp(-0.5 * square((speed - v0 - v_slope * left) / v_noise)) / (v_noise * sqrt(2 * pi()));
    return out;
  }
}

data {
  int<lower=0> N;  // sets
  int<lower=0> S;  // sessions
  int<lower=0> L;  // lifts
  int<lower=0> E;  // exercises
  int<lower=0> V;  // visits: one lift in one session; lift by lift, in order of time
  int<lower=0> P;  // lifts with a practice offset
  // sessions
  int day[S];
  int in_session[S, L];
  // lifts and exercises
  int exercise_of[L];
  int class_of[E];
  vector[E] shape_of_exercise;
  matrix[L, L] overlap;  // [from, to]
  // visits
  int visit_lift[V];
  int visit_session[V];
  int visit_number[V];  // 1 is the lift's first
  vector[V] visit_days;    // since the visit before
  vector[V] visit_excess;  // of which days of lay-off beyond the free ones
  vector[V] visit_absent;  // and of those, beyond eight weeks of a gap without any training
  vector[L] first_absent;  // such days before a lift's first visit
  int practice_of[V];      // which practice offset, 0 none
  vector[V] practice_share;
  // sets
  int session[N];
  int lift[N];
  int visit[N];
  vector[N] log_load;
  int reps[N];
  int failed[N];
  int unknown[N];
  int informs[N];
  vector[N] rest;
  int rest_known[N];
  int has_feeling[N];
  vector[12] feeling[N];  // low, before, high: given or not, bound, reps before the last, waiting for a cue
  int has_speed[N];
  vector[N] speed;
  // priors
  vector[12] shared_mean;  // general level, log A_fast, log A_slow, log tau_fast, logit lam, log A_day,
  vector[12] shared_sd;    // b, log g, log s0, log s1, cue shift, log lay-off loss
  vector[3] stopping_mean;
  vector[3] stopping_sd;
  vector[E] endurance_mean;
  vector[E] endurance_sd;
  matrix[E, 3] speed_mean;  // at failure, log slope, log noise
  matrix[E, 3] speed_sd;
  vector[L] ratio_mean;
  vector[L] ratio_sd;
  vector[L] alike_mean;  // log strength of people alike who do not train, and the prior's whole sd
  vector[L] alike_sd;
  real general_alike_mean;  // the same of the general level
  real general_alike_sd;
  real practice_mean;
  real practice_sd;
  vector[3] scale_mean;  // log sigma, log q, log sigma_d
  vector[3] scale_sd;
  real trend_mean;
  real trend_sd;
  // constants
  real trend_half_life;
  real tau_slow;
  real rho_f;
  real minutes_per_rep;
  real residual_decay;
  real residual_gone;
  real lay_off_drift_factor;
  real absence_loss_days;
  real absence_memory;
  real absence_memory_days;
  real log_rest_sd;
  real sigma_outside_range;
  real outlier;
  // Start of the strengths, and of each lift's usual set: reps, what was heard of the reserve at its end (below 0:
  // nothing was), whether that was a cue, whether the set ended for reasons not told.
  vector[L] first_start;
  vector[L] usual_reps;
  vector[L] usual_heard;
  int usual_on_cue[L];
  int usual_unknown[L];
  // nodes and weights over w for log_density; none: it is left out
  int<lower=0> Q;
  vector[Q] node;
  vector[Q] weight;
}

transformed data {
  real a = log(2) / trend_half_life;
  // A gap first passes as eight weeks do, then the absence: there theta stands, loses a share that settles and is drawn
  // to people alike, while v goes on as before.
  vector[V] near = visit_days - visit_absent;
  vector[V] walked_days = near + (square(lay_off_drift_factor) - 1) * (visit_excess - visit_absent);
  vector[V] lost_days = visit_excess - visit_absent + absence_loss_days * (1 - exp(-visit_absent / absence_loss_days));
  vector[V] hold;
  vector[V] drawn;      // added to the mean of theta by absence
  vector[V] drawn_var;  // and to its variance
  vector[L] first_hold;
  vector[L] first_drawn;
  vector[L] first_sd;
  vector[L] hold_of = rep_vector(0, L);  // mean over the visits of what is left of theta at the first
  vector[V] held;
  vector[V] keep = exp(-a * visit_days);
  vector[V] near_keep = exp(-a * near);
  vector[V] reach = (1 - near_keep) / a;
  // Covariance of the noise of (theta, v) over a gap: v is a stationary Ornstein-Uhlenbeck process, theta its integral.
  vector[V] integrated = square(trend_sd / a) * (2 * a * near - 3 + 4 * near_keep - square(near_keep));
  vector[V] cross = square(trend_sd) / a * square(1 - near_keep) .* exp(-a * visit_absent);
  vector[V] own = square(trend_sd) * (1 - square(keep));
  vector[L] shape;
  vector[L] first_centre;
  vector[L] visits_of = rep_vector(0, L);
  int W = 0;
  int latent[N];  // index of the set's w, 0 where the chance has a closed form
  int E_speed = 0;
  int speed_index[E];
  for (i in 1:N) {
    latent[i] = 0;
    if (informs[i] && (has_feeling[i] || has_speed[i] || unknown[i])) {
      W += 1;
      latent[i] = W;
    }
  }
  for (j in 1:E) speed_index[j] = 0;
  for (i in 1:N) if (has_speed[i]) speed_index[exercise_of[lift[i]]] = 1;
  for (j in 1:E) if (speed_index[j]) {
    E_speed += 1;
    speed_index[j] = E_speed;
  }
  for (v in 1:V) visits_of[visit_lift[v]] += 1;
  for (v in 1:V) {
    int l = visit_lift[v];
    real memory = absence_memory + (1 - absence_memory) * exp(-visit_absent[v] / absence_memory_days);
    hold[v] = 1 - (1 - memory) * square(general_alike_sd / alike_sd[l]);
    drawn[v] = (1 - hold[v]) * alike_mean[l];
    drawn_var[v] = (1 - square(hold[v])) * square(alike_sd[l]);
    held[v] = visit_number[v] == 1 ? 1 : held[v - 1] * hold[v];
    hold_of[l] += held[v] / visits_of[l];
  }
  for (l in 1:L) {
    first_hold[l] = absence_memory + (1 - absence_memory) * exp(-first_absent[l] / absence_memory_days);
    first_drawn[l] = (1 - first_hold[l]) * general_alike_mean;
    first_sd[l] = sqrt(square(ratio_sd[l]) + (1 - square(first_hold[l])) * square(general_alike_sd));
  }
  for (l in 1:L) {
    int j = exercise_of[l];
    shape[l] = shape_of_exercise[j];
    first_centre[l] = first_start[l]
                      - suggested_margin(usual_reps[l], usual_heard[l], usual_on_cue[l], usual_unknown[l],
                                         exp(endurance_mean[j]), shape[l], shared_mean[7], exp(shared_mean[8]),
                                         shared_mean[11], exp(stopping_mean[class_of[j]]));
  }
}

parameters {  // standard normal a priori, but for first_z: there the log does the centring
  vector[3] scale_z;
  vector[12] shared_z;
  vector[3] stopping_z;
  vector[E] endurance_z;
  matrix[E_speed, 3] speed_z;
  vector[P] practice_z;
  vector[L] first_z;
  vector[V] trend_z;
  vector[V] drift_z;  // those of first visits are not used
  vector[S] day_z;
  vector[W] set_z;
}

transformed parameters {
  vector[3] scales = exp(scale_mean + scale_sd .* scale_z);  // sigma, q, sigma_d
  vector[12] shared = shared_mean + shared_sd .* shared_z;
  vector[3] log_stopping = stopping_mean + stopping_sd .* stopping_z;
  vector[E] log_endurance = endurance_mean + endurance_sd .* endurance_z;
  vector[P] practice = practice_mean + practice_sd * practice_z;
  vector[L] first;
  vector[S] readiness = scales[3] * day_z;
  matrix[E_speed, 3] speed_shared;
  vector[V] strength;
  vector[V] trend;
  vector[V] path;  // strength but for what is left of the lift's first visit
  vector[L] middle = rep_vector(0, L);  // mean of that
  for (j in 1:E) if (speed_index[j]) speed_shared[speed_index[j]] = speed_mean[j] + speed_sd[j] .* speed_z[speed_index[j]];
  for (v in 1:V) {
    if (visit_number[v] == 1) {
      path[v] = 0;
      trend[v] = trend_mean + trend_sd * trend_z[v];
    } else {
      real before = trend[v - 1] - trend_mean;
      real noise = sqrt(own[v]) * trend_z[v];
      real with = hold[v] * cross[v] / own[v];
      real moved = square(hold[v]) * (square(scales[2]) * walked_days[v] + integrated[v]) + drawn_var[v]
                   - square(with) * own[v];
      trend[v] = trend_mean + keep[v] * before + noise;
      path[v] = hold[v] * (path[v - 1] + trend_mean * near[v] + before * reach[v]) + with * noise
                + sqrt(moved) * drift_z[v] + drawn[v];
      if (visit_excess[v] > 0) path[v] -= exp(shared[12]) * hold[v] * lost_days[v];
    }
    middle[visit_lift[v]] += path[v] / visits_of[visit_lift[v]];
  }
  for (l in 1:L) {
    int j = exercise_of[l];
    first[l] = (first_centre[l] + 0.05 * first_z[l] - middle[l]
                + suggested_margin(usual_reps[l], usual_heard[l], usual_on_cue[l], usual_unknown[l],
                                   exp(log_endurance[j]), shape[l], shared[7], exp(shared[8]), shared[11],
                                   exp(log_stopping[class_of[j]]))) / hold_of[l];
  }
  strength = held .* first[visit_lift] + path;
}

model {
  vector[L] k = exp(log_endurance[exercise_of]);
  vector[N] fresh = strength[visit] + readiness[session] - log_load;
  matrix[N, 2] walked;
  real g = exp(shared[8]);
  real s0 = exp(shared[9]);
  real s1 = exp(shared[10]);
  vector[3] usual = exp(log_stopping);
  vector[N] likelihood = rep_vector(1, N);
  for (i in 1:N) if (practice_of[visit[i]]) fresh[i] -= practice_share[visit[i]] * practice[practice_of[visit[i]]];
  walked = walk(fresh, k, exp(shared[2]), exp(shared[3]), exp(shared[4]), inv_logit(shared[5]), exp(shared[6]),
                session, lift, reps, failed, rest, day, in_session, overlap, shape, tau_slow, rho_f, minutes_per_rep,
                residual_decay, residual_gone);
  scale_z ~ std_normal();
  shared_z ~ std_normal();
  stopping_z ~ std_normal();
  endurance_z ~ std_normal();
  to_vector(speed_z) ~ std_normal();
  practice_z ~ std_normal();
  first ~ normal(first_hold * shared[1] + first_drawn + ratio_mean, first_sd);
  trend_z ~ std_normal();
  drift_z ~ std_normal();
  day_z ~ std_normal();
  set_z ~ std_normal();
  for (i in 1:N) if (informs[i]) {
    real x = walked[i, 1];
    int l = lift[i];
    int j = exercise_of[l];
    real sigma = scales[1];
    if (x > log(2) || reps[i] > 25) sigma *= sigma_outside_range;
    if (!rest_known[i]) sigma = sqrt(square(sigma) + square(log_rest_sd * walked[i, 2]));
    if (latent[i]) {
      int v = speed_index[j];
      likelihood[i] = chance_seen(set_z[latent[i]], x, sigma, k[l], shape[l], reps[i], failed[i], unknown[i],
                                  feeling[i], has_feeling[i], shared[7], g, s0, s1, shared[11], usual[class_of[j]],
                                  has_speed[i], speed[i], v > 0 ? speed_shared[v, 1] : 0.0,
                                  v > 0 ? exp(speed_shared[v, 2]) : 1.0, v > 0 ? exp(speed_shared[v, 3]) : 1.0);
    } else {
      likelihood[i] = chance_ended(x, sigma, k[l], shape[l], reps[i], failed[i]);
    }
    likelihood[i] += slip(outlier, x, k[l], shape[l], reps[i], failed[i]);
  }
  target += log(likelihood);
}

generated quantities {
  // The log density of the field (everything but the scales) and the sets, w integrated out, as in the program.
  real log_density = 0;
  if (Q > 0) {
    vector[L] k = exp(log_endurance[exercise_of]);
    vector[N] fresh = strength[visit] + readiness[session] - log_load;
    matrix[N, 2] walked;
    vector[Q] mass;
    for (q in 1:Q) mass[q] = weight[q] * exp(-0.5 * square(node[q])) / sqrt(2 * pi());
    for (i in 1:N) if (practice_of[visit[i]]) fresh[i] -= practice_share[visit[i]] * practice[practice_of[visit[i]]];
    walked = walk(fresh, k, exp(shared[2]), exp(shared[3]), exp(shared[4]), inv_logit(shared[5]), exp(shared[6]),
                  session, lift, reps, failed, rest, day, in_session, overlap, shape, tau_slow, rho_f, minutes_per_rep,
                  residual_decay, residual_gone);
    log_density += normal_lpdf(shared | shared_mean, shared_sd) + normal_lpdf(log_stopping | stopping_mean, stopping_sd)
                   + normal_lpdf(log_endurance | endurance_mean, endurance_sd)
                   + normal_lpdf(practice | practice_mean, practice_sd) + normal_lpdf(readiness | 0, scales[3])
                   + normal_lpdf(first | first_hold * shared[1] + first_drawn + ratio_mean, first_sd);
    for (j in 1:E) if (speed_index[j]) log_density += normal_lpdf(speed_shared[speed_index[j]] | speed_mean[j], speed_sd[j]);
    for (v in 1:V) {
      if (visit_number[v] == 1) {
        log_density += normal_lpdf(trend[v] | trend_mean, trend_sd);
      } else {
        // theta' and v' given theta and v, as a bivariate normal.
        real before = trend[v - 1] - trend_mean;
        vector[2] to = [strength[v], trend[v]]';
        vector[2] expected = [hold[v] * (strength[v - 1] + trend_mean * near[v] + before * reach[v]
                                         - exp(shared[12]) * lost_days[v]) + drawn[v],
                              trend_mean + keep[v] * before]';
        real moved = square(hold[v]) * (square(scales[2]) * walked_days[v] + integrated[v]) + drawn_var[v];
        real shared_noise = hold[v] * cross[v];
        log_density += multi_normal_lpdf(to | expected, [[moved, shared_noise], [shared_noise, own[v]]]);
      }
    }
    for (i in 1:N) if (informs[i]) {
      real x = walked[i, 1];
      int l = lift[i];
      int j = exercise_of[l];
      real sigma = scales[1];
      real likelihood = 0;
      if (x > log(2) || reps[i] > 25) sigma *= sigma_outside_range;
      if (!rest_known[i]) sigma = sqrt(square(sigma) + square(log_rest_sd * walked[i, 2]));
      if (latent[i]) {
        int v = speed_index[j];
        for (q in 1:Q)
          likelihood += mass[q] * chance_seen(node[q], x, sigma, k[l], shape[l], reps[i], failed[i], unknown[i],
                                              feeling[i], has_feeling[i], shared[7], exp(shared[8]), exp(shared[9]),
                                              exp(shared[10]), shared[11], exp(log_stopping[class_of[j]]),
                                              has_speed[i], speed[i], v > 0 ? speed_shared[v, 1] : 0.0,
                                              v > 0 ? exp(speed_shared[v, 2]) : 1.0,
                                              v > 0 ? exp(speed_shared[v, 3]) : 1.0);
      } else {
        likelihood = chance_ended(x, sigma, k[l], shape[l], reps[i], failed[i]);
      }
      log_density += log(likelihood + slip(outlier, x, k[l], shape[l], reps[i], failed[i]));
    }
  }
}
