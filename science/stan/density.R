# Log densities of model.stan at fixed points of every log, for the comparison with the program's own:
#
#   Rscript science/stan/density.R WORK        writes science/results/stan_log_density.csv
#
# No sampling. The points are shaken starts, far enough from the best point that some sets lie in the tails.
source(file.path(dirname(sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE)[1])), "common.R"))
work <- commandArgs(TRUE)[1]
model <- compiled_model(work)
wanted <- "^(scales|shared|log_stopping|log_endurance|practice|readiness|speed_shared|strength|trend|log_density)(\\[|$)"
out <- c("log,point,variable,value")
for (log in logs) {
  data <- data_of(log, 1000)
  for (point in 1:3) {
    start <- start_of(data, 10 * match(log, logs) + point, c(0.1, 0.3, 0.6)[point])
    # One step of no length at the start gives the generated quantities there.
    fit <- sampling(model, data, chains = 1, warmup = 0, iter = 1, init = list(start), algorithm = "Fixed_param",
                    refresh = 0, seed = 1)
    values <- as.matrix(fit)[1, ]
    values <- values[grepl(wanted, names(values))]
    out <- c(out, sprintf("%s,%d,%s,%.17g", log, point, gsub(",", ".", names(values), fixed = TRUE), values))
    cat(sprintf("%s point %d: %.10f\n", log, point, values[["log_density"]]))
  }
}
writeLines(out, file.path(here, "..", "results", "stan_log_density.csv"))
