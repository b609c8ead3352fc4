# Summaries of the chains that sample.R left, for every log that has any:
#
#   Rscript science/stan/summarise.R WORK [LOG...]
#
# writes science/results/stan_posterior.csv, stan_finish.csv and stan_chains.csv; rows of logs without chains in WORK stay.
source(file.path(dirname(sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE)[1])), "common.R"))
source(file.path(here, "finish.R"))
work <- commandArgs(TRUE)[1]
wanted <- commandArgs(TRUE)[-1]
results <- file.path(here, "..", "results")
shared <- c("general", "log_a_fast", "log_a_slow", "log_tau_fast", "logit_lam", "log_a_day", "bias", "log_gain",
            "log_spread", "log_spread_rise", "cue_shift", "log_layoff")

# Draws by iteration and chain of one quantity, and what is said of it.
described <- function(log, name, draws) {
  sprintf("%s,%s,%.6f,%.6f,%.6f,%s,%.0f,%.0f,%.4f", log, name, mean(draws), sd(draws),
          sd(draws) / sqrt(ess_bulk(draws)),
          paste(sprintf("%.6f", quantile(draws, c(0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95))), collapse = ","),
          ess_bulk(draws), ess_tail(draws), Rhat(draws))
}

posterior <- finishes <- chains_said <- character(0)
done <- character(0)
for (log in logs) {
  files <- chains_of(work, log)
  if (length(files) == 0 || (length(wanted) > 0 && !log %in% wanted)) next
  done <- c(done, log)
  kept <- lapply(files, readRDS)
  data <- data_of(log)
  lift_name <- attr(data, "lift_name")
  fits <- lapply(kept, `[[`, "fit")
  draws <- lapply(fits, function(f) as.array(f)[, 1, ])  # iteration by parameter
  of <- function(name) {
    one <- lapply(draws, function(d) d[, name])
    least <- min(lengths(one))
    do.call(cbind, lapply(one, function(x) x[seq_len(least)]))
  }
  add <- function(name, x) posterior <<- c(posterior, described(log, name, x))
  last_visit <- sapply(seq_len(data$L), function(l) max(which(data$visit_lift == l)))
  for (l in seq_len(data$L)) {
    add(paste0("strength:", lift_name[l]), of(sprintf("strength[%d]", last_visit[l])))
    add(paste0("log_k:", lift_name[l]), of(sprintf("log_endurance[%d]", data$exercise_of[l])))
    add(paste0("trend:", lift_name[l]), of(sprintf("trend[%d]", last_visit[l])))
  }
  for (i in seq_along(shared)) add(shared[i], of(sprintf("shared[%d]", i)))
  for (c in unique(data$class_of)) add(paste0("log_stopping:", c), of(sprintf("log_stopping[%d]", c)))
  for (i in 1:3) add(c("log_sigma", "log_drift", "log_day_sd")[i], log(of(sprintf("scales[%d]", i))))

  flat <- function(name) as.vector(of(name))
  several <- function(pattern, indices) sapply(indices, function(i) flat(sprintf(pattern, i)))
  d <- list(strength = several("strength[%d]", last_visit), trend = several("trend[%d]", last_visit),
            log_k = several("log_endurance[%d]", data$exercise_of), shared = several("shared[%d]", 1:12),
            scales = several("scales[%d]", 1:3))
  size <- dim(of("shared[1]"))
  for (l in seq_len(data$L)) for (before in c(0, 2)) for (target in c(0.5, 0.8, 0.95)) {
    reps <- if (before == 0) 5 else 8
    rest <- 3
    at <- function(log_load) mean(finish(d, data, l, exp(log_load), reps, before, rest)) - target
    middle <- mean(d$strength[, l])
    # The load, in steps of 0.25 kg, at which the sampler's chance comes nearest to the target.
    load <- round(4 * exp(uniroot(at, middle + c(-1.2, 0.3))$root)) / 4
    chance <- finish(d, data, l, load, reps, before, rest)
    error <- sd(chance) / sqrt(ess_bulk(matrix(chance, size[1], size[2])))
    finishes <- c(finishes, sprintf("%s,%s,%.2f,%d,%d,%g,%.5f,%.5f", log, lift_name[l], load, reps, before, rest,
                                    mean(chance), error))
  }

  parameters <- lapply(fits, function(f) get_sampler_params(f, inc_warmup = FALSE)[[1]])
  total <- function(what) sum(sapply(parameters, function(p) sum(p[, what])))
  # Convergence is judged on everything that was sampled or follows from it, not only on what is printed.
  every <- setdiff(colnames(draws[[1]]), c("log_density", "lp__", grep("^(path|middle)", colnames(draws[[1]]), value = TRUE)))
  rhat <- sapply(every, function(name) Rhat(of(name)))
  ess <- sapply(every, function(name) ess_bulk(of(name)))
  chains_said <- c(chains_said, sprintf(
    "%s,%d,%d,%d,%d,%d,%.0f,%.4f,%.0f,%.0f,%d", log, length(fits), fits[[1]]@sim$warmup, nrow(draws[[1]]),
    as.integer(total("divergent__")), as.integer(sum(sapply(parameters, function(p) sum(p[, "treedepth__"] >= 10)))),
    min(ess, na.rm = TRUE), max(rhat, na.rm = TRUE), mean(sapply(parameters, function(p) mean(p[, "n_leapfrog__"]))),
    sum(sapply(kept, function(k) k$used[["user.self"]])), data$N))
  cat(tail(chains_said, 1), "\n")
}

put <- function(file, header, rows) {
  path <- file.path(results, file)
  old <- if (file.exists(path)) readLines(path)[-1] else character(0)
  all <- c(old[!sub(",.*", "", old) %in% done], rows)
  writeLines(c(header, all[order(match(sub(",.*", "", all), logs))]), path)
}
put("stan_posterior.csv", "log,quantity,mean,sd,mc_error,q05,q10,q25,q50,q75,q90,q95,bulk_ess,tail_ess,rhat", posterior)
put("stan_finish.csv", "log,exercise,load_kg,reps,sets_before,rest_min,chance,mc_error", finishes)
put("stan_chains.csv",
    "log,chains,warmup,draws,divergent,deepest_reached,least_bulk_ess,largest_rhat,steps_a_draw,cpu_seconds,sets",
    chains_said)
