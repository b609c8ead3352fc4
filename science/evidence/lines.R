# Points of fitted curves with cluster-robust errors (CR2) and Satterthwaite's degrees of freedom, by clubSandwich.
#
#   Rscript science/evidence/lines.R > science/evidence/results/lines.csv
#
# Random effects by REML, one effect a row, clusters the studies; weights: the curve's row of the design.
suppressPackageStartupMessages({library(metafor); library(clubSandwich)})
here <- dirname(sub("^--file=", "", grep("^--file=", commandArgs(), value = TRUE)[1]))
source(file.path(here, "sets.R"))
cat("set,column,shape,at,estimate,se,df,ci_lo,ci_hi\n")
points <- function(set, column, at, quadratic) {
  d <- read_set(set); d <- d[!is.na(d$effect) & !is.na(d$variance) & !is.na(d[[column]]), ]
  row <- function(x) if (quadratic) cbind(1, x, x^2) else cbind(1, x)
  f <- rma.uni(d$effect, d$variance, mods = row(d[[column]]), intercept = FALSE, method = "REML",
               control = list(threshold = 1e-13 * max(1, var(d$effect)), maxiter = 20000))
  l <- linear_contrast(f, vcov = "CR2", cluster = d$study, contrasts = row(at), test = "Satterthwaite")
  for (i in seq_along(at)) cat(paste(c(set, column, if (quadratic) "quadratic" else "straight", at[i],
    formatC(as.numeric(c(l$Est[i], l$SE[i], l$df[i], l$CI_L[i], l$CI_U[i])), digits = 15, format = "g", width = 1)), collapse = ","), "\n", sep = "")
}
points("raudenbush1985", "weeks", c(0, 1, 5, 24), FALSE)
points("raudenbush1985", "weeks", c(0, 2, 8), TRUE)
points("assink2016", "year", c(-5, 0, 4), FALSE)
points("konstantopoulos2011", "year", c(1976, 1990, 2000), FALSE)
points("kalaian1996", "hrs", c(5, 20, 40), TRUE)
points("tannersmith2016", "age", c(12, 15, 18), TRUE)
