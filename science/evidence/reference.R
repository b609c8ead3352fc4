# Reference results for the evidence engine, by metafor and clubSandwich on the sets of sets.R.
#
#   Rscript science/evidence/reference.R > science/evidence/results/reference.csv
#
# Every line is one number: how it was fitted, what it is, which term or study (counted from 1), its value. Iterations
# are run far beyond metafor's standard thresholds, so that the numbers are its formulas' and not its stopping rules'.
suppressPackageStartupMessages({library(metafor); library(clubSandwich)})
here <- dirname(sub("^--file=", "", grep("^--file=", commandArgs(), value = TRUE)[1]))
source(file.path(here, "sets.R"))

cat("set,measure,method,test,moderators,random,cluster,correlation,quantity,term,value\n")
line <- function(s, quantity, values, term = seq_along(values)) {
  values <- as.numeric(values)
  for (i in seq_along(values)) if (!is.na(values[i]))
    cat(paste(s$set, s$measure, s$method, s$test, s$moderators, s$random, s$cluster, s$correlation, quantity, term[i],
              formatC(values[i], digits = 15, format = "g", width = 1), sep = ","), "\n", sep = "")
}

effects <- function(set, measure) {
  d <- read_set(set)
  if (measure == "") { d$yi <- d$effect; d$vi <- d$variance }
  else if (measure %in% c("MD", "SMD", "ROM"))
    d <- escalc(measure = measure, n1i = n1, m1i = mean1, sd1i = sd1, n2i = n2, m2i = mean2, sd2i = sd2, data = d)
  else if (measure %in% c("OR", "RR")) d <- escalc(measure = measure, ai = events1, n1i = n1, ci = events2, n2i = n2, data = d,
                                                   drop00 = TRUE)  # a table without events, or with nothing else, says nothing
  d$yi <- as.numeric(d$yi)
  d
}

# Restricted cubic spline, Harrell 2015, Regression Modeling Strategies, 2nd ed., section 2.4.5, scaled by (t_k - t_1)^2.
spline_terms <- function(x, t) {
  k <- length(t); p <- function(u) pmax(u, 0)^3
  out <- cbind(x)
  for (j in 1:(k - 2))
    out <- cbind(out, (p(x - t[j]) - p(x - t[k-1]) * (t[k] - t[j]) / (t[k] - t[k-1]) + p(x - t[k]) * (t[k-1] - t[j]) / (t[k] - t[k-1])) / (t[k] - t[1])^2)
  out
}

# Moderators in the words of the check, "a", "a:quadratic", "a:spline(0;3;8)", "a&b" (interaction), joined by "+"; as columns.
columns <- function(d, moderators) {
  one <- function(name) if (is.numeric(d[[name]])) matrix(d[[name]]) else {
    lev <- sort(unique(d[[name]]), method = "radix"); sapply(lev[-1], function(l) as.numeric(d[[name]] == l)) }
  X <- matrix(1, nrow(d), 1)
  if (moderators == "") return(X)
  for (m in strsplit(moderators, "+", fixed = TRUE)[[1]]) {
    if (grepl("&", m, fixed = TRUE)) { ab <- strsplit(m, "&", fixed = TRUE)[[1]]; A <- one(ab[1]); B <- one(ab[2])
      for (i in seq_len(ncol(A))) for (j in seq_len(ncol(B))) X <- cbind(X, A[, i] * B[, j]) }
    else if (grepl(":quadratic", m, fixed = TRUE)) { x <- d[[sub(":.*", "", m)]]; X <- cbind(X, x, x^2) }
    else if (grepl(":spline", m, fixed = TRUE)) {
      t <- as.numeric(strsplit(sub(".*\\(", "", sub("\\)", "", m)), ";")[[1]]); X <- cbind(X, spline_terms(d[[sub(":.*", "", m)]], t)) }
    else X <- cbind(X, one(m))
  }
  unname(X)
}
complete <- function(d, moderators) {
  names <- unique(unlist(strsplit(gsub(":[^+]*", "", moderators), "[+&]")))
  names <- names[names != ""]
  keep <- !is.na(d$yi) & !is.na(d$vi)
  for (n in names) keep <- keep & !is.na(d[[n]]) & d[[n]] != ""
  d[keep, , drop = FALSE]
}

coefficients_of <- function(s, f) {
  line(s, "estimate", f$beta); line(s, "se", f$se); line(s, "statistic", f$zval); line(s, "p", f$pval)
  line(s, "ci_lo", f$ci.lb); line(s, "ci_hi", f$ci.ub)
  line(s, "q", f$QE); line(s, "q_p", f$QEp)
  if (f$p > 1) { line(s, "qm", f$QM); line(s, "qm_p", f$QMp) }
}

tight <- function(method, y) switch(method, PM = list(tol = 1e-15, maxiter = 10000), list(threshold = 1e-13 * max(1, var(y)), maxiter = 20000))

single <- function(set, measure = "", method = "REML", test = "z", moderators = "", cluster = "", checks = FALSE, funnel = FALSE) {
  s <- list(set = set, measure = measure, method = if (method == "FE") "common" else method, test = test, moderators = moderators,
            random = "", cluster = cluster, correlation = "")
  d <- complete(effects(set, measure), moderators)
  X <- columns(d, moderators)
  f <- rma.uni(d$yi, d$vi, mods = X, intercept = FALSE, method = method, test = test, control = tight(method, d$yi))
  coefficients_of(s, f)
  if (method != "FE") { line(s, "tau2", f$tau2)
    ci <- try(confint(f, control = list(tol = 1e-14, maxiter = 10000, tau2.max = 1e6)), silent = TRUE)
    if (!inherits(ci, "try-error")) { line(s, "tau2_lo", ci$random["tau^2", "ci.lb"]); line(s, "tau2_hi", ci$random["tau^2", "ci.ub"]) } }
  line(s, "i2", f$I2)
  if (method %in% c("REML", "ML")) { line(s, "loglik", logLik(f)); line(s, "tau2_se", f$se.tau2) }
  if (moderators == "") { p <- predict(rma.uni(d$yi, d$vi, method = method, test = test, control = tight(method, d$yi))); line(s, "prediction_lo", p$pi.lb); line(s, "prediction_hi", p$pi.ub) }
  if (cluster != "") robust_of(s, f, d[[cluster]])
  if (checks) {
    g <- if (moderators == "") rma.uni(d$yi, d$vi, method = method, test = test, control = tight(method, d$yi)) else f
    i <- influence(g)$inf
    for (n in c("rstudent", "dffits", "cook.d", "cov.r", "tau2.del", "QE.del", "hat")) line(s, n, i[[n]])
    if (moderators == "") { l <- leave1out(g); line(s, "without_estimate", l$estimate); line(s, "without_se", l$se); line(s, "without_tau2", l$tau2) }
  }
  if (funnel) {
    g <- rma.uni(d$yi, d$vi, method = method, control = tight(method, d$yi))
    e <- regtest(g, model = "lm"); line(s, "egger_t", e$zval); line(s, "egger_p", e$pval)
    line(s, "egger_slope", coef(summary(e$fit))[2, 1]); line(s, "egger_limit", e$est); line(s, "egger_limit_lo", e$ci.lb); line(s, "egger_limit_hi", e$ci.ub)
    r <- regtest(g); line(s, "egger_mixed_z", r$zval); line(s, "egger_mixed_p", r$pval)
    k <- suppressWarnings(ranktest(g)); line(s, "rank_tau", k$tau); line(s, "rank_p", k$pval)
  }
}

robust_of <- function(s, f, cluster) {
  t <- coef_test(f, vcov = "CR2", cluster = cluster, test = "Satterthwaite")
  line(s, "cr2_se", t$SE); line(s, "cr2_statistic", t$tstat); line(s, "cr2_df", t$df_Satt); line(s, "cr2_p", t$p_Satt)
}

# REML (or ML) by metafor, then its own log-likelihood sharpened: the sigma2 that its optimiser leaves are good to some
# 1e-6, because it sees only values. Newton steps on the score, written out, start there; the likelihood must not fall.
multi <- function(set, measure = "", method = "REML", test = "z", moderators = "", random = "study/effect", cluster = "study",
                  correlation = 0, profile = FALSE, without = FALSE) {
  s <- list(set = set, measure = measure, method = method, test = test, moderators = moderators, random = random,
            cluster = cluster, correlation = if (correlation == 0) "" else correlation)
  d <- complete(effects(set, measure), moderators)
  d$study_ <- factor(d$study, levels = unique(d$study)); d$row_ <- seq_len(nrow(d))
  if (!is.null(d$group)) d$group_ <- factor(paste(d$study, d$group))
  X <- columns(d, moderators)
  part <- switch(random, "study" = list(~ 1 | study_), "study/effect" = list(~ 1 | study_, ~ 1 | row_),
                 "study/group" = list(~ 1 | study_, ~ 1 | group_), "study/group/effect" = list(~ 1 | study_, ~ 1 | group_, ~ 1 | row_))
  V <- diag(d$vi); if (correlation != 0) V <- outer(sqrt(d$vi), sqrt(d$vi)) * ifelse(outer(d$study_, d$study_, "=="), correlation, 0)
  diag(V) <- d$vi
  fit <- function(rows = seq_len(nrow(d)), sigma2 = NA, init = NULL) {
    control <- list(optimizer = "nlminb", iter.max = 2000, eval.max = 4000)
    if (!is.null(init)) control$sigma2.init <- pmax(init, 1e-8)
    rma.mv(d$yi[rows], V[rows, rows], mods = X[rows, , drop = FALSE], intercept = FALSE, random = part, data = d[rows, ], method = method,
           test = test, sigma2 = if (length(sigma2) == 1 && is.na(sigma2)) rep(NA, length(part)) else sigma2, control = control)
  }
  Z <- lapply(part, function(p) { g <- factor(d[[all.vars(p)]]); outer(g, g, "==") * 1 })
  sharpen <- function(f, rows = seq_len(nrow(d))) {
    Zs <- lapply(Z, function(z) z[rows, rows]); y <- d$yi[rows]; x <- X[rows, , drop = FALSE]; v <- V[rows, rows]
    theta <- f$sigma2; free <- theta > 1e-7
    for (it in if (any(free)) 1:50 else c()) {
      M <- v; for (j in seq_along(theta)) M <- M + theta[j] * Zs[[j]]
      W <- chol2inv(chol(M)); WX <- W %*% x; P <- W - WX %*% solve(crossprod(x, WX), t(WX)); R <- if (method == "REML") P else W
      Py <- P %*% y
      score <- sapply(Zs, function(z) -0.5 * sum(R * z) + 0.5 * sum(Py * (z %*% Py)))
      info <- sapply(Zs, function(a) sapply(Zs, function(b) 0.5 * sum((R %*% a) * t(R %*% b))))
      info <- matrix(info, length(theta))
      step <- rep(0, length(theta)); step[free] <- solve(info[free, free, drop = FALSE], score[free])
      theta <- pmax(theta + step, 0)
      if (max(abs(step)) < 1e-13) break
    }
    theta[!free] <- 0
    g <- fit(rows, theta)
    stopifnot(as.numeric(logLik(g)) >= as.numeric(logLik(f)) - 1e-7)
    g$sigma2 <- theta
    g
  }
  free <- fit(); f <- sharpen(free)
  coefficients_of(s, f)
  line(s, "sigma2", f$sigma2); line(s, "loglik", logLik(f))
  if (moderators == "") { g <- rma.mv(d$yi, V, random = part, data = d, method = method, test = test, sigma2 = f$sigma2); p <- predict(g)
    line(s, "prediction_lo", p$pi.lb); line(s, "prediction_hi", p$pi.ub) }
  if (cluster != "") robust_of(s, f, d[[cluster]])
  if (profile) for (j in seq_along(f$sigma2)) {
    c <- confint(free, sigma2 = j, control = list(tol = 1e-10, maxiter = 10000))
    line(s, "sigma2_lo", c$random[1, "ci.lb"], j); line(s, "sigma2_hi", c$random[1, "ci.ub"], j) }
  if (without) for (one in unique(d$study)) { rows <- which(d$study != one); g <- sharpen(fit(rows, init = f$sigma2), rows)
    line(s, "without_estimate", g$beta[1], match(one, unique(d$study))); line(s, "without_se", g$se[1], match(one, unique(d$study))) }
}

# ---- The eight.
for (m in c("FE", "DL", "REML", "ML", "PM", "EB", "HE", "SJ")) {
  single("bcg", "RR", m, checks = m %in% c("REML", "FE", "DL"), funnel = m == "REML")
  single("bcg", "OR", m)
  single("bangertdrowns2004", "", m)
  single("raudenbush1985", "", m)
  single("normand1999", "SMD", m)
  single("normand1999", "MD", m)
  single("hackshaw1998", "", m, funnel = m == "REML")
}
for (m in c("REML", "ML", "DL", "PM")) {
  single("bcg", "RR", m, "knha")
  single("bcg", "RR", m, "z", "ablat")
  single("bcg", "RR", m, "knha", "ablat")
}
single("bcg", "RR", "REML", "knha", "ablat+alloc", checks = TRUE)
single("bcg", "RR", "REML", "z", "ablat:quadratic")
single("bcg", "OR", "REML", "z", "ablat+year+ablat&year")
single("bangertdrowns2004", "", "REML", "knha", "length:spline(4;10;18)")
single("bangertdrowns2004", "", "REML", "knha", "grade+feedback+grade&feedback")
single("raudenbush1985", "", "REML", "knha", "weeks", checks = TRUE, funnel = TRUE)
single("raudenbush1985", "", "REML", "z", "setting+tester")
single("raudenbush1985", "", "REML", "z", "weeks:quadratic")
single("normand1999", "ROM", "REML", "knha", checks = TRUE)
single("konstantopoulos2011", "", "REML", "knha", cluster = "study")
multi("konstantopoulos2011", profile = TRUE, without = TRUE)
multi("konstantopoulos2011", method = "ML")
multi("konstantopoulos2011", moderators = "year", test = "t")
multi("assink2016", profile = TRUE, without = TRUE)
multi("assink2016", moderators = "deltype", test = "t")
multi("assink2016", moderators = "year:quadratic")
multi("assink2016", correlation = 0.6)
single("berkey1998", "", "REML", "z", "outcome", cluster = "study")
multi("berkey1998", moderators = "outcome")
single("craft2003", "", "REML", "z", "pair", cluster = "study")
multi("craft2003", moderators = "pair+sport")
# ---- Ten and more.
single("colditz1994", "RR", "EB", "knha", "ablat", checks = TRUE)
for (m in c("REML", "PM")) { single("linde2005", "RR", m, "knha"); single("nielweise2007", "OR", m); single("lau1992", "OR", m, funnel = m == "REML") }
single("linde2005", "OR", "REML", "z", "duration+baseline")
single("linde2005", "RR", "FE", funnel = TRUE)
single("laopaiboon2015", "OR", "REML"); single("laopaiboon2015", "RR", "DL", checks = TRUE)
for (m in c("MD", "SMD", "ROM")) single("gibson2002", m, "REML", "knha")
single("gibson2002", "SMD", "REML", "knha", "type")
for (m in c("FE", "REML", "HE", "SJ")) single("curtis1998", "ROM", m)
multi("curtis1998", "ROM", profile = TRUE)
multi("curtis1998", "ROM", moderators = "fungrp", test = "t")
multi("bornmann2007", "OR", profile = TRUE, without = TRUE)
multi("bornmann2007", "OR", moderators = "type")
multi("tannersmith2016", without = TRUE)
multi("tannersmith2016", moderators = "age:quadratic", test = "t")
multi("tannersmith2016", correlation = 0.5)
multi("knapp2017")
multi("knapp2017", moderators = "difficulty:spline(2;4;5)")
multi("knapp2017", correlation = 0.6, method = "ML")
for (m in c("REML", "DL", "SJ")) single("baskerville2012", "", m, "knha", checks = m == "REML", funnel = m == "REML")
single("baskerville2012", "", "REML", "z", "design")
multi("kalaian1996")
multi("kalaian1996", moderators = "outcome", correlation = 0.66)
multi("crede2010", random = "study/group/effect")
multi("crede2010", moderators = "criterion", test = "t")
multi("bakdash2021")
single("viechtbauer2021", "OR", "REML", "z", "dose", checks = TRUE); single("viechtbauer2021", "RR", "ML", "knha", "dose:quadratic")
