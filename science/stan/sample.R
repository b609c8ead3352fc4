# One chain after another, each kept in a file, so that the work can be stopped and taken up again:
#
#   nice -n 19 Rscript science/stan/sample.R WORK LOG [CHAINS=4] [WARMUP=400] [DRAWS=1000] [ADAPT_DELTA=0.95]
#
# WORK: a directory outside the tree for the compiled model and the chains.
source(file.path(dirname(sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE)[1])), "common.R"))
given <- commandArgs(TRUE)
work <- given[1]
log <- given[2]
number <- function(i, otherwise) if (length(given) >= i) as.numeric(given[i]) else otherwise
chains <- number(3, 4)
warmup <- number(4, 400)
draws <- number(5, 1000)
delta <- number(6, 0.95)
if (!log %in% logs) stop("no such log: ", log, "; there are ", paste(logs, collapse = ", "))
dir.create(work, showWarnings = FALSE)
model <- compiled_model(work)
data <- data_of(log)

for (chain in seq_len(chains)) {
  file <- file.path(work, sprintf("%s_%d.rds", log, chain))
  if (file.exists(file)) next
  used <- system.time(
    fit <- sampling(model, data, chains = 1, chain_id = chain, seed = 20260101 + match(log, logs),
                    init = list(start_of(data, 1000 + chain, 0.1)), warmup = warmup, iter = warmup + draws, refresh = 200,
                    control = list(adapt_delta = delta, max_treedepth = 10)))
  saveRDS(list(fit = fit, used = used), paste0(file, ".part"))
  file.rename(paste0(file, ".part"), file)
  sampler <- get_sampler_params(fit, inc_warmup = FALSE)[[1]]
  cat(sprintf("%s chain %d: %.0f s of computing, %d divergent, %.0f steps a draw, step %.3f\n", log, chain,
              used[["user.self"]], sum(sampler[, "divergent__"]), mean(sampler[, "n_leapfrog__"]),
              mean(sampler[, "stepsize__"])))
}
