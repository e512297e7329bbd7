# SPDX-License-Identifier: GPL-3.0-or-later
# Rscript crosscheck.R REFERENCE_FOLDER DEMO_FOLDER RECORD.TSV   Computes the reference values of the
# tests again in R, from the same files the tests read, and what a record of the demo trial must
# hold. Called by crosscheck.sh. Status 1 when anything is off.
options(warn = 1)
arguments <- commandArgs(TRUE)
folder <- arguments[1]
source(file.path(folder, "scripts/reference.R"))
source(file.path(folder, "scripts/values.R"))
source(file.path(folder, "scripts/demo.R"))

digits_of <- function(got, want) {
  d <- ifelse(got == want, 16, -log10(abs(got - want) / ifelse(want == 0, 1, abs(want))))
  ifelse(is.na(d), -Inf, pmin(d, 16))
}
all_off <- 0
report <- function(title, key, got, want, asked) {
  have <- digits_of(got, want); off <- which(have < asked)
  for (i in off)
    cat(sprintf("  off: %s: %.12g here, %.12g there, %.1f digits of %.1f\n", key[i], want[i], got[i], have[i], asked[i]))
  cat(sprintf("%-4s %s: %d values, %d off, least agreement %.1f digits\n", if (length(off)) "off" else "ok",
              title, length(got), length(off), min(have)))
  all_off <<- all_off + length(off) + (length(got) == 0)
}
table_in <- function(header, name) { # the numbers of a C array of structures, one row each
  text <- paste(readLines(file.path(folder, header)), collapse = " ")
  text <- sub(paste0(".*[ ]", name, "\\[\\] = \\{(.*?)\\};.*"), "\\1", text, perl = TRUE)
  rows <- regmatches(text, gregexpr("\\{[^{}]*\\}", text))[[1]]
  t(sapply(strsplit(gsub("[{} ]", "", rows), ","), as.numeric))
}

# ---- data/values.tsv
v <- read.delim(file.path(folder, "data/values.tsv"), header = FALSE, comment.char = "", skip = 1, quote = "",
                stringsAsFactors = FALSE)
report("data/values.tsv (distributions, analysis of variance, curves, intervals)", v$V1,
       suppressWarnings(sapply(v$V1, value_of)), v$V2, pmin(v$V3, 9))

# ---- studentized range, analysis of means: the tail beyond the tabulated quantile must be alpha
infinite <- function(nu) ifelse(nu == 0, Inf, nu)
r <- table_in("range_values.h", "range_values")
r <- r[seq(1, nrow(r), by = 5), ]
report("range_values.h, studentized range (every fifth)", sprintf("alpha %g, k %g, nu %g", r[, 1], r[, 2], r[, 3]),
       mapply(range_beyond, r[, 4], r[, 2], infinite(r[, 3])), r[, 1], rep(6, nrow(r)))
r <- table_in("range_values.h", "anom_values")
r <- r[r[, 2] >= 5, ]
r <- r[seq(1, nrow(r), by = 5), ]
report("range_values.h, analysis of means (every fifth from k = 5)",
       sprintf("alpha %g, k %g, nu %g", r[, 1], r[, 2], r[, 3]),
       mapply(anom_beyond, r[, 4], r[, 2], infinite(r[, 3])), r[, 1], rep(5, nrow(r)))

# ---- one-sided tolerance factors; R's noncentral t is wrong from a noncentrality of 37.6 on
r <- table_in("cooling_values.h", "exact_factors")
r <- r[qnorm(r[, 2]) * sqrt(r[, 1]) < 37, ]
report("cooling_values.h, one-sided tolerance factors", sprintf("n %g, p %g, confidence %g", r[, 1], r[, 2], r[, 3]),
       suppressWarnings(mapply(tolerance_one_sided, r[, 2], r[, 3], r[, 1])), r[, 4], rep(7, nrow(r)))

# ---- what the program wrote about the demo trial
record <- read.delim(arguments[3], header = FALSE, colClasses = "character", quote = "")
got <- setNames(record$V5, paste(record$V1, record$V2, record$V3, record$V4))
d <- demo_values(arguments[2])
report("record of the demo trial", d$key, as.numeric(got[d$key]), d$value, d$digits)

cat(if (all_off == 0) "crosscheck: R agrees\n" else sprintf("crosscheck: %d values off\n", all_off))
quit(status = if (all_off == 0) 0 else 1)
