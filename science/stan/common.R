# What sample.R and summarise.R share.
suppressMessages(library(rstan))

logs <- c("short", "failures", "no_calls", "cue", "unknown", "several", "long", "regular",
          "returning")
here <- dirname(sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE)[1]))

# Data of one log. panels: of 20 Gauss-Legendre nodes each over w in (-8.5, 8.5), for log_density; 0 leaves it out. A
# set that a cue had not stopped has a corner in its integrand, which only many panels pass over closely.
data_of <- function(log, panels = 0) {
  e <- new.env()
  sys.source(file.path(here, "data", paste0(log, ".R")), e)
  data <- as.list(e)
  lift_name <- data$lift_name
  data$lift_name <- NULL
  # Golub and Welsch 1969: nodes are the eigenvalues of the Jacobi matrix of the Legendre polynomials.
  nodes <- 20
  i <- seq_len(nodes - 1)
  jacobi <- matrix(0, nodes, nodes)
  jacobi[cbind(i, i + 1)] <- jacobi[cbind(i + 1, i)] <- i / sqrt(4 * i^2 - 1)
  system <- eigen(jacobi, symmetric = TRUE)
  half <- 8.5 / max(panels, 1)
  centre <- 2 * half * (seq_len(panels) - 0.5) - 8.5
  data$Q <- nodes * panels
  data$node <- array(outer(half * system$values, centre, "+"), data$Q)
  data$weight <- array(rep(2 * half * system$vectors[1, ]^2, panels), data$Q)
  structure(data, lift_name = lift_name)
}

# Near the program's own start: the strengths its start function gives, everything else at the prior, shaken by this
# many prior sds.
start_of <- function(data, seed, shaken) {
  set.seed(seed)
  near <- function(...) array(rnorm(prod(...), 0, shaken), c(...))
  latent <- sum(data$informs & (data$has_feeling | data$has_speed | data$unknown))
  list(scale_z = near(3), shared_z = near(12), stopping_z = near(3), endurance_z = near(data$E),
       speed_z = near(length(unique(data$exercise_of[data$lift[data$has_speed == 1]])), 3), practice_z = near(data$P),
       first_z = near(data$L), trend_z = near(data$V), drift_z = near(data$V), day_z = near(data$S),
       set_z = near(latent))
}

# Debian's package of the Boost headers for R is empty and points to the system's.
compiled_model <- function(work) {
  file <- file.path(work, "model.rds")
  source <- file.path(here, "model.stan")
  sum <- tools::md5sum(source)[[1]]
  kept <- if (file.exists(file)) readRDS(file) else list(sum = "")
  if (kept$sum != sum) {
    # No -march: the model's memory alignment must be that of the R packages it is loaded beside.
    makevars <- file.path(work, "Makevars")
    writeLines("CXX14FLAGS = -O2 -w", makevars)
    Sys.setenv(R_MAKEVARS_USER = makevars)
    kept <- list(sum = sum, model = stan_model(source, boost_lib = "/usr/include", save_dso = TRUE))
    saveRDS(kept, file)
  }
  kept$model
}

chains_of <- function(work, log) Sys.glob(file.path(work, paste0(log, "_*.rds")))
