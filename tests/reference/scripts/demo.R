# SPDX-License-Identifier: GPL-3.0-or-later
# The demo trial analyzed in R from its sheets, where the model is a plain one: what the program's
# record must hold. demo_values(folder) gives a data frame: key ("study kind name field"), value,
# digits of agreement asked for (the record carries ten).
demo_values <- function(demo) {
  out <- data.frame(key = character(), value = numeric(), digits = numeric())
  note <- function(key, value, digits = 9)
    out[nrow(out) + 1, ] <<- list(key, as.numeric(value), digits)
  sheet <- function(study) read.csv(file.path(demo, paste0(study, ".csv")), comment.char = "#",
                                    check.names = FALSE, stringsAsFactors = FALSE)
  column <- function(d, name) d[[grep(paste0("^", name), names(d))[1]]]

  # ---- gate-freeze: mean of the four parts of a shot over hold time, excluded shots left out
  d <- sheet("gate-freeze")
  kept <- is.na(d$exclude) | d$exclude == ""
  x <- column(d, "hold time")[kept]
  y <- rowMeans(d[kept, grep("^weight c", names(d))])
  conditions <- sort(unique(x))
  delta <- 0.001 * mean(y[x %in% tail(conditions, 2)])
  note("gate-freeze criterion freeze_tolerance limit", delta)
  fit <- lapply(setNames(names(families), names(families)), fit_family, x = x, y = y)
  for (f in fit) {
    name <- if (f$name == "line") "straight line" else f$name
    at <- function(field) paste("gate-freeze model", name, field)
    note(at("aicc"), f$aicc - length(y) * (1 + log(2 * pi)))
    note(at("residual_sd"), f$s)
    note(at("misfit_p"), f$misfit_p, 8)
    for (k in names(f$p)) {
      note(at(paste0("value.", k)), f$p[[k]], 8)
      note(at(paste0("variance.", k)), f$covariance[match(k, names(f$p)), match(k, names(f$p))], 7)
    }
    if (families[[f$name]]$plateau) note(at("answer"), families[[f$name]]$answer(f$p, delta, f$x1), 8)
  }
  best <- min(sapply(fit, function(f) f$aicc))
  for (f in fit)
    if (families[[f$name]]$plateau && !isTRUE(families[[f$name]]$corner) && f$aicc < best + 7) {
      e <- answer_ends(f, delta, x, y)
      digits <- if (f$name == "exponential") 8 else 6 # by simplex
      note(paste("gate-freeze model", f$name, "answer_low"), e[1], digits)
      note(paste("gate-freeze model", f$name, "answer_high"), e[2], digits)
    }
  s <- pure(x, y)
  note("gate-freeze quantity shot_sd value", sqrt(s$ss / s$dof))
  chosen <- fit[[which.min(sapply(fit, function(f) f$aicc))]]
  r <- rise_of(chosen, x, y, which(conditions == 6)) # the safe end
  note("gate-freeze criterion freeze_tolerance value", r[["rise"]], 8)
  note("gate-freeze criterion freeze_tolerance low", r[["low"]], 8)
  note("gate-freeze criterion freeze_tolerance high", r[["high"]], 8)

  # ---- cavity-balance: cavities and shots of the fuller level
  d <- sheet("cavity-balance")
  d <- d[column(d, "fill") == max(column(d, "fill")), ]
  w <- t(as.matrix(d[grep("^weight c", names(d))]))
  long <- data.frame(y = as.vector(t(w)), cavity = factor(rep(1:4, each = ncol(w))), shot = factor(rep(1:ncol(w), 4)))
  l <- lm(y ~ cavity + shot, long); a <- anova(l); sd <- summary(l)$sigma; nu <- l$df.residual
  m <- rowMeans(w); range <- max(m) - min(m); n <- ncol(w)
  low <- range - qtukey(0.975, 4, nu) * sd / sqrt(n)
  high <- range + qt(0.975, nu) * sd * sqrt(2 / n)
  of <- function(name, field) paste("cavity-balance quantity", name, field)
  note(of("residual_sd", "value"), sd)
  note(of("cavity_equality_p", "value"), a[["Pr(>F)"]][1], 8)
  note(of("imbalance", "value"), range / max(m)); note(of("imbalance", "low"), low / max(m), 6)
  note(of("imbalance", "high"), high / max(m))
  note(of("cavity_range", "value"), range); note(of("cavity_range", "low"), low, 6)
  note(of("cavity_range", "high"), high)
  sets <- anova(lm(m ~ factor(c(1, 2, 1, 2))))
  note(of("paths_p", "value"), sets[["Pr(>F)"]][1], 8)
  note(of("paths_share", "value"), sets[["Sum Sq"]][1] / sum(sets[["Sum Sq"]]), 8)

  # ---- pressure-drop: melt pressure in MPa, two rounds of four stages
  d <- sheet("pressure-drop")
  y <- column(d, "peak pressure") * 10.2 / 10
  block <- block_of(as.numeric(factor(d$stage)))
  of <- function(name, field) paste("pressure-drop quantity", name, field)
  last <- d$stage == tail(d$stage, 1)
  mean_of <- tapply(y, d$stage, mean)
  visits <- data.frame(p = tapply(y, block, mean), stage = tapply(d$stage, block, unique))
  absolute <- summary(lm(p ~ stage, visits))$sigma
  relative <- summary(lm(I(p / mean_of[stage]) ~ stage, visits))$sigma
  rows <- diff(as.numeric(t.test(y[last])$conf.int)) / 2
  half <- max(rows, qt(0.975, 4) * max(absolute, relative * mean(y[last])) / sqrt(2))
  note(of("fill_pressure", "value"), mean(y[last]))
  note(of("fill_pressure", "low"), mean(y[last]) - half); note(of("fill_pressure", "high"), mean(y[last]) + half)
  note(of("pressure_use", "value"), mean(y[last]) / 168.3)
  note(of("pressure_use", "low"), (mean(y[last]) - half) / 168.3)
  note(of("pressure_use", "high"), (mean(y[last]) + half) / 168.3)
  note(of("shot_sd", "value"), summary(lm(y ~ factor(block)))$sigma)

  # ---- viscosity: ln pressure over ln (1 / fill time), errors in both
  d <- sheet("viscosity")
  d <- d[is.na(d$note) | d$note == "", ]
  t <- log(column(d, "fill time")); p <- log(column(d, "transfer pressure")); b <- block_of(column(d, "injection speed"))
  g <- -tapply(t, b, mean); q <- tapply(p, b, mean); k <- as.numeric(table(b)); n <- length(t); m <- length(g)
  var_t <- sum((t - ave(t, b))^2) / (n - m)
  rounding <- (0.01 / exp(-g))^2 / 12
  first <- lm(q ~ g, weights = k); middle <- weighted.mean(q, k)
  parted <- function(index) tapply((p - ave(p, b) + index * (t - ave(t, b)))^2, b, sum)
  # pressure scatter as a share (all 1), or alike in pressure (variance as 1 / P^2 in the logarithm)
  laws <- lapply(list(share = 1 + 0 * q, alike = exp(2 * (middle - q))), function(h) {
    var_p <- sum(tapply((p - ave(p, b))^2, b, sum) / h) / (n - m)
    v <- function(index) var_p * h + index^2 * (var_t + rounding)
    at <- v(coef(first)[[2]])
    deviance <- (n - m) * log(sum(parted(coef(first)[[2]]) / at)) + sum((k - 1) * log(at))
    l <- first
    for (pass in 1:2) {
      w <- k / v(coef(l)[[2]]); w <- w * n / sum(w)
      l <- lm(q ~ g, weights = w)
    }
    index <- coef(l)[[2]]; within <- parted(index); rss <- sum(w * residuals(l)^2)
    half <- max(qt(0.975, n - 2) * sqrt((sum(w / k * within) + rss) / (n - 2)),
                qt(0.975, m - 2) * sqrt(rss / (m - 2))) / sqrt(sum(w * (g - weighted.mean(g, w))^2))
    list(deviance = deviance, index = index, low = index - half, high = index + half, within = within)
  })
  gap <- laws$share$deviance - laws$alike$deviance
  better <- if (gap > 0) laws$alike else laws$share
  kept <- if (abs(gap) <= qnorm(0.95)^2) laws else list(better)
  index <- better$index; within <- better$within
  of <- function(name, field) paste("viscosity quantity", name, field)
  note(of("power_law_index", "value"), index)
  note(of("power_law_index", "low"), min(sapply(kept, `[[`, "low")))
  note(of("power_law_index", "high"), max(sapply(kept, `[[`, "high")))
  note(of("shot_sd", "value"), sqrt(sum(within) / (n - m)))
  out
}
