# The sets that the evidence engine is checked against, as study tables of our own column names. Read from Debian's
# r-cran-metadat (GPL-2 or later) each time: none of them is kept in this tree.
#
#   Rscript science/evidence/sets.R FOLDER     writes FOLDER/<name>.csv
suppressPackageStartupMessages({library(metadat); library(metafor)})

counts <- function(a, n1, c, n2) data.frame(events1 = a, n1 = n1, events2 = c, n2 = n2)
means <- function(d) data.frame(n1 = d$n1i, mean1 = d$m1i, sd1 = d$sd1i, n2 = d$n2i, mean2 = d$m2i, sd2 = d$sd2i)
given <- function(study, yi, vi) data.frame(study = study, effect = yi, variance = vi)

sets <- list(
  # The selection of eight.
  bcg = function() with(dat.bcg, data.frame(study = trial, counts(tpos, tpos + tneg, cpos, cpos + cneg),
                                            ablat = ablat, alloc = alloc, year = year)),
  konstantopoulos2011 = function() with(dat.konstantopoulos2011, data.frame(given(district, yi, vi), group = study, year = year)),
  assink2016 = function() with(dat.assink2016, data.frame(given(study, yi, vi), group = esid, year = year, deltype = deltype)),
  bangertdrowns2004 = function() with(dat.bangertdrowns2004, data.frame(given(id, yi, vi), grade = grade, length = length, feedback = feedback)),
  raudenbush1985 = function() with(dat.raudenbush1985, data.frame(given(study, yi, vi), weeks = weeks, setting = setting, tester = tester)),
  normand1999 = function() data.frame(study = dat.normand1999$study, means(dat.normand1999)),
  berkey1998 = function() with(dat.berkey1998, data.frame(given(trial, yi, vi), outcome = outcome, year = year - 1983)),
  craft2003 = function() { e <- escalc(measure = "COR", ri = ri, ni = ni, data = dat.craft2003)
    with(e, data.frame(given(study, as.numeric(yi), vi), pair = paste(var1, var2), sport = sport)) },
  # Ten and more of the same package.
  colditz1994 = function() with(dat.colditz1994, data.frame(study = trial, counts(tpos, tpos + tneg, cpos, cpos + cneg), ablat = ablat)),
  hackshaw1998 = function() with(dat.hackshaw1998, data.frame(given(study, yi, vi), year = year, country = country, design = design)),
  linde2005 = function() with(dat.linde2005, data.frame(study = id, counts(ai, n1i, ci, n2i), duration = duration, baseline = baseline)),
  nielweise2007 = function() with(dat.nielweise2007, data.frame(study = study, counts(ai, n1i, ci, n2i))),
  gibson2002 = function() { d <- dat.gibson2002[!is.na(dat.gibson2002$m1i), ]
    data.frame(study = seq_len(nrow(d)), means(d), type = d$type) },
  curtis1998 = function() data.frame(study = dat.curtis1998$paper, group = dat.curtis1998$id, means(dat.curtis1998), time = dat.curtis1998$time,
                                     fungrp = dat.curtis1998$fungrp),
  bornmann2007 = function() with(dat.bornmann2007, data.frame(study = study, group = obs, counts(waward, wtotal, maward, mtotal), type = type)),
  tannersmith2016 = function() with(dat.tannersmith2016, data.frame(given(studyid, yi, vi), age = aget1, sexmix = sexmix)),
  knapp2017 = function() with(dat.knapp2017, data.frame(given(study, yi, vi), difficulty = difficulty)),
  baskerville2012 = function() with(dat.baskerville2012, data.frame(given(seq_along(smd), smd, se^2), hours = hours, design = design)),
  lau1992 = function() with(dat.lau1992, data.frame(study = trial, counts(ai, n1i, ci, n2i), year = year)),
  laopaiboon2015 = function() with(dat.laopaiboon2015, data.frame(study = paste(author, year), counts(ai, n1i, ci, n2i))),
  kalaian1996 = function() with(dat.kalaian1996, data.frame(given(study, yi, vi), outcome = outcome, hrs = hrs)),
  crede2010 = function() { e <- escalc(measure = "ZCOR", ri = ri, ni = ni, data = dat.crede2010)
    with(e, data.frame(given(studyid, as.numeric(yi), vi), group = sampleid, criterion = criterion)) },
  bakdash2021 = function() with(dat.bakdash2021, data.frame(given(SampleID, es.z, vi.z), outcome = Outcome)),
  viechtbauer2021 = function() with(dat.viechtbauer2021, data.frame(study = trial, counts(xTi, nTi, xCi, nCi), dose = dose))
)

plain <- function(table) { table[] <- lapply(table, function(x) if (is.factor(x)) as.character(x) else if (is.numeric(x)) as.numeric(x) else x); table }
read_set <- function(name) plain(sets[[name]]())

if (sys.nframe() == 0L) {
  folder <- commandArgs(trailingOnly = TRUE)[1]
  dir.create(folder, showWarnings = FALSE, recursive = TRUE)
  for (name in names(sets)) {
    table <- read_set(name)
    table[] <- lapply(table, function(x) if (is.numeric(x)) ifelse(is.na(x), NA, formatC(x, digits = 17, format = "g", width = 1)) else x)
    write.csv(table, file.path(folder, paste0(name, ".csv")), row.names = FALSE, na = "", fileEncoding = "UTF-8")
  }
}
