# What sample.R and summarise.R share.
suppressMessages(library(rstan))

logs <- c("short", "failures", "no_calls", "cue", "unknown", "several", "long")
here <- dirname(sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE)[1]))

# Data of one log. nodes: Gauss-Legendre nodes over w in (-8.5, 8.5) for log_density; 0 leaves it out.
data_of <- function(log, nodes = 0) {
  e <- new.env()
  sys.source(file.path(here, "data", paste0(log, ".R")), e)
  data <- as.list(e)
  data$Q <- nodes
  data$node <- data$weight <- array(numeric(0), 0)
  if (nodes > 0) {
    # Golub and Welsch 1969: nodes are the eigenvalues of the Jacobi matrix of the Legendre polynomials.
    i <- seq_len(nodes - 1)
    jacobi <- matrix(0, nodes, nodes)
    jacobi[cbind(i, i + 1)] <- jacobi[cbind(i + 1, i)] <- i / sqrt(4 * i^2 - 1)
    system <- eigen(jacobi, symmetric = TRUE)
    data$node <- array(8.5 * system$values)
    data$weight <- array(8.5 * 2 * system$vectors[1, ]^2)
  }
  data
}

# Debian's package of the Boost headers for R is empty and points to the system's.
compiled_model <- function(work) {
  file <- file.path(work, "model.rds")
  source <- file.path(here, "model.stan")
  if (!file.exists(file) || file.mtime(file) < file.mtime(source)) {
    makevars <- file.path(work, "Makevars")
    writeLines("CXX14FLAGS = -O2 -w", makevars)
    Sys.setenv(R_MAKEVARS_USER = makevars)
    saveRDS(stan_model(source, boost_lib = "/usr/include", save_dso = TRUE), file)
  }
  readRDS(file)
}

chains_of <- function(work, log) Sys.glob(file.path(work, paste0(log, "_*.rds")))
