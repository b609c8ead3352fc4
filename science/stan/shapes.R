# What the shape of a posterior alone does to chances: draws that have the sampler's means and covariances and the shape of
# a Gaussian, of one with log strengths skewed as their marginals are, and of one with all marginals (a Gaussian copula):
#
#   Rscript science/stan/shapes.R WORK [LOG...]
#
# writes science/results/stan_shapes.csv: by how much the chance of finishing (stan_finish.csv) differs from the sampler's.
# Of logs without chains in WORK nothing is written.
source(file.path(dirname(sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE)[1])), "common.R"))
source(file.path(here, "finish.R"))
work <- commandArgs(TRUE)[1]
wanted <- commandArgs(TRUE)[-1]
out <- "log,exercise,sets_before,target,gaussian,strength_skewed,marginals"
for (log in logs) {
  files <- chains_of(work, log)
  if (length(files) == 0 || (length(wanted) > 0 && !log %in% wanted)) next
  data <- data_of(log)
  draws <- do.call(rbind, lapply(files, function(f) as.array(readRDS(f)$fit)[, 1, ]))
  last_visit <- sapply(seq_len(data$L), function(l) max(which(data$visit_lift == l)))
  several <- function(pattern, indices) sapply(indices, function(i) draws[, sprintf(pattern, i)])
  lifts <- data$L
  sampled <- cbind(several("strength[%d]", last_visit), several("trend[%d]", last_visit),
                   several("log_endurance[%d]", data$exercise_of), several("shared[%d]", 1:12),
                   log(several("scales[%d]", 1:3)))
  as_draws <- function(x) list(strength = x[, 1:lifts, drop = FALSE], trend = x[, lifts + 1:lifts, drop = FALSE],
                               log_k = x[, 2 * lifts + 1:lifts, drop = FALSE], shared = x[, 3 * lifts + 1:12],
                               scales = exp(x[, 3 * lifts + 12 + 1:3]))
  set.seed(1)
  middle <- colMeans(sampled)
  sds <- apply(sampled, 2, sd)
  normals <- scale(matrix(rnorm(length(sampled)), nrow(sampled)))
  gaussian <- sweep(normals %*% chol(cov(sampled)), 2, middle, "+")
  skewed <- gaussian
  for (l in seq_len(lifts)) {
    skewness <- mean((sampled[, l] - middle[l])^3) / sds[l]^3
    z <- (gaussian[, l] - middle[l]) / sds[l]
    skewed[, l] <- middle[l] + sds[l] * (z + skewness / 6 * (z^2 - 1)) / sqrt(1 + skewness^2 / 18)
  }
  marginals <- sapply(seq_along(middle), function(i) sort(sampled[, i])[rank(gaussian[, i])])
  for (l in seq_len(lifts)) for (before in c(0, 2)) for (target in c(0.5, 0.8, 0.95)) {
    reps <- if (before == 0) 5 else 8
    chance <- function(x, log_load) mean(finish(as_draws(x), data, l, exp(log_load), reps, before, 3))
    at <- uniroot(function(log_load) chance(sampled, log_load) - target, middle[l] + c(-1.2, 0.3))$root
    off <- sapply(list(gaussian, skewed, marginals), function(x) chance(x, at) - chance(sampled, at))
    out <- c(out, sprintf("%s,%s,%d,%g,%.4f,%.4f,%.4f", log, attr(data, "lift_name")[l], before, target, off[1], off[2],
                          off[3]))
  }
}
writeLines(out, file.path(here, "..", "results", "stan_shapes.csv"))
