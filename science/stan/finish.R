# The chance of finishing a set from draws of the sampler, for summarise.R and shapes.R.

# Section 1 and 3 once more, over draws at once.
reps_to_failure <- function(x, k, p) if (p > 0) 1 + k * expm1(p * x) / p else 1 + k * x
margin_for_reps <- function(r, k, p) if (p > 0) log1p(p * (r - 1) / k) / p else (r - 1) / k
smooth_max <- function(a, b) b + (pmax(8 * (a - b), 0) + log1p(exp(-abs(8 * (a - b))))) / 8

# Chance of finishing a set a week after the last session, by draw: `before` sets of the same load and reps come first.
finish <- function(d, data, l, load, reps, before, rest) {
  days <- 7
  a <- log(2) / data$trend_half_life
  keep <- exp(-a * days)
  p <- data$shape_of_exercise[data$exercise_of[l]]
  k <- exp(d$log_k[, l])
  expected <- d$strength[, l] + data$trend_mean * days + (d$trend[, l] - data$trend_mean) * (1 - keep) / a
  moved <- d$scales[, 2]^2 * days + (data$trend_sd / a)^2 * (2 * a * days - 3 + 4 * keep - keep^2) + d$scales[, 3]^2
  if (before == 0) {
    return(pnorm((expected - log(load) - margin_for_reps(reps, k, p)) / sqrt(moved + d$scales[, 1]^2)))
  }
  set.seed(7)
  fresh <- expected + rnorm(length(k)) * sqrt(moved) - log(load)
  fast <- slow <- 0
  lam <- plogis(d$shared[, 5])
  for (i in seq_len(before)) {
    capacity <- reps_to_failure(fresh - fast - slow, k, p)
    left <- smooth_max(capacity - reps, 0)
    spent <- margin_for_reps(smooth_max(capacity, reps), k, p) - margin_for_reps(left, k, p)
    gap <- rest + reps * data$minutes_per_rep
    fast <- (fast + exp(d$shared[, 2]) * spent) * exp(-gap / exp(d$shared[, 4]))
    slow <- (slow + exp(d$shared[, 3]) * spent * (lam + (1 - lam) * exp(-left / data$rho_f))) * exp(-gap / data$tau_slow)
  }
  pnorm((fresh - fast - slow - margin_for_reps(reps, k, p)) / d$scales[, 1])
}
