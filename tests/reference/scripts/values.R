# SPDX-License-Identifier: GPL-3.0-or-later
# What a line of data/values.tsv means, in R. value_of("f_tail 9.59 2 12") gives the number.
csv <- local({ known <- list(); function(name) {
  if (is.null(known[[name]])) known[[name]] <<- read.csv(file.path(folder, "data", paste0(name, ".csv")))
  known[[name]] } })
fits <- local({ known <- list(); function(data, family) {
  key <- paste(data, family)
  if (is.null(known[[key]])) { d <- csv(data); known[[key]] <<- fit_family(family, d$x, d$y) }
  known[[key]] } })
intervals <- local({ known <- list(); function(key, compute) {
  if (is.null(known[[key]])) known[[key]] <<- compute()
  known[[key]] } })

one_way <- function(d, what) {
  a <- summary(aov(y ~ factor(group), d))[[1]]
  l <- summary(lm(y ~ factor(group), d))
  switch(what, ss_between = a[["Sum Sq"]][1], ss_within = a[["Sum Sq"]][2], f = a[["F value"]][1],
         p = a[["Pr(>F)"]][1], r_squared = l$r.squared, residual_sd = l$sigma)
}
two_way <- function(d, what) {
  l <- lm(y ~ factor(cavity) + factor(shot), d); a <- anova(l)
  switch(what, ss_rows = a[["Sum Sq"]][1], ss_columns = a[["Sum Sq"]][2], ss_residual = a[["Sum Sq"]][3],
         f_rows = a[["F value"]][1], f_columns = a[["F value"]][2],
         p_rows = a[["Pr(>F)"]][1], p_columns = a[["Pr(>F)"]][2], residual_sd = summary(l)$sigma)
}
imbalance <- function(d, what) {
  l <- lm(y ~ factor(cavity) + factor(shot), d); s <- summary(l)$sigma; nu <- l$df.residual
  m <- tapply(d$y, d$cavity, mean); n <- length(unique(d$shot)); r <- max(m) - min(m)
  # R's qtukey is good to 3e-7 here: 15 degrees of freedom
  switch(what, value = r, low = max(0, r - qtukey(0.975, length(m), nu) * s / sqrt(n)),
         high = r + qt(0.975, nu) * s * sqrt(2 / n)) / max(m)
}
family_value <- function(data, delta, family, what) {
  d <- csv(data); f <- fits(data, family)
  if (grepl("^value\\.", what)) return(f$p[[sub("value.", "", what, fixed = TRUE)]])
  if (grepl("^sd\\.", what)) {
    k <- match(sub("sd.", "", what, fixed = TRUE), names(f$p))
    return(sqrt(f$covariance[k, k]))
  }
  if (grepl("^curve_", what)) { # 95 % limits of a straight line at 6.5
    p <- predict(lm(y ~ x, d), data.frame(x = 6.5), interval = "confidence")
    return(p[1, sub("curve_", "", what)])
  }
  if (grepl("^answer_", what))
    return(intervals(paste(data, delta, family, "answer"), function() answer_ends(f, delta, d$x, d$y))
           [if (what == "answer_low") 1 else 2])
  if (grepl("^start_", what))
    return(intervals(paste(data, family, "corner"), function() corner_ends(f, d$x, d$y))
           [if (what == "start_low") 1 else 2])
  switch(what, rss = f$rss, residual_sd = f$s, aicc = f$aicc, misfit_p = f$misfit_p,
         answer = families[[family]]$answer(f$p, delta, f$x1))
}
rise_value <- function(data, delta, family, first, what) {
  d <- csv(data)
  r <- rise_of(fits(data, family), d$x, d$y, first)
  if (what == "verdict") tost(r, delta) else r[[what]]
}
long_name <- function(family) switch(family, stretched = "stretched exponential", stick = "broken stick", family)

value_of <- function(line) {
  w <- strsplit(line, " ")[[1]]; n <- suppressWarnings(as.numeric(w))
  as.numeric(switch(w[1],
    t_quantile = qt(n[2], n[3]),
    t_cdf = pt(n[2], n[3]),
    t_two_sided = 2 * pt(-abs(n[2]), n[3]),
    f_tail = pf(n[2], n[3], n[4], lower.tail = FALSE),
    tolerance = tolerance_one_sided(n[2], n[3], n[4], n[5]),
    one_way = one_way(csv(w[2]), w[3]),
    two_way = two_way(csv(w[2]), w[3]),
    imbalance = imbalance(csv(w[2]), w[3]),
    family = family_value(w[2], n[3], long_name(w[4]), w[5]),
    rise = rise_value(w[2], n[3], long_name(w[4]), n[5], w[6]),
    stop("no meaning for: ", line)))
}
