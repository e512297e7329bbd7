# SPDX-License-Identifier: GPL-3.0-or-later
# The statistics of the program, computed a second time in R: own least squares on analytic
# derivatives, R's lm, aov and distributions, R's quadrature. Nothing here is taken over from the
# program. Sourced by values.R and demo.R; needs R 4.2, no packages.

# ---- curves ------------------------------------------------------------------------------------------
# Each: parameters in the program's order, the curve with its derivatives at p, starting values, the
# x from which the curve is within delta of its end. x1 is the first setting.
smooth_curve <- function(formula, names) {
  d <- deriv(formula, names, function.arg = c(names, "x", "x1"))
  function(p, x, x1) { v <- do.call(d, c(as.list(p), list(x = x, x1 = x1)))
    list(f = as.numeric(v), j = attr(v, "gradient")) }
}
start_rise <- function(x, y) { # P, A of a rise by its ends
  m <- tapply(y, x, mean)
  c(P = unname(m[length(m)]), A = unname(m[length(m)] - m[1]))
}
families <- list(
  constant = list(names = "P", plateau = FALSE,
    curve = function(p, x, x1) list(f = rep(p[[1]], length(x)), j = cbind(rep(1, length(x)))),
    start = function(x, y) mean(y)),
  line = list(names = c("a", "b"), plateau = FALSE,
    curve = function(p, x, x1) list(f = p[[1]] + p[[2]] * x, j = cbind(1, x)),
    start = function(x, y) coef(lm(y ~ x))),
  `linear-plateau` = list(names = c("P", "A", "c"), plateau = TRUE, corner = TRUE,
    curve = function(p, x, x1) { u <- pmax(0, p[[3]] - x)
      list(f = p[[1]] - p[[2]] * u, j = cbind(1, -u, -p[[2]] * (x < p[[3]]))) },
    basis = function(c, x) cbind(1, -pmax(0, c - x)),
    answer = function(p, delta, x1) p[[3]] - delta / p[[2]]),
  `quadratic-plateau` = list(names = c("P", "A", "c"), plateau = TRUE, corner = TRUE,
    curve = function(p, x, x1) { u <- pmax(0, p[[3]] - x)
      list(f = p[[1]] - p[[2]] * u^2, j = cbind(1, -u^2, -2 * p[[2]] * u)) },
    basis = function(c, x) cbind(1, -pmax(0, c - x)^2),
    answer = function(p, delta, x1) p[[3]] - sqrt(delta / p[[2]])),
  exponential = list(names = c("P", "A", "tau"), plateau = TRUE,
    curve = smooth_curve(~ P - A * exp(-(x - x1) / tau), c("P", "A", "tau")),
    start = function(x, y) c(start_rise(x, y), tau = diff(range(x)) / 6),
    answer = function(p, delta, x1) x1 + p[[3]] * log(p[[2]] / delta)),
  logistic = list(names = c("P", "A", "s", "h"), plateau = TRUE,
    curve = smooth_curve(
      ~ P - A * exp(h - (x - x1) / s) / (1 + exp(h - (x - x1) / s) - exp(-(x - x1) / s)),
      c("P", "A", "s", "h")),
    start = function(x, y) c(start_rise(x, y), s = diff(range(x)) / 6, h = 0.1),
    # e^(h-z) / (1 + e^(h-z) - e^-z) = r, r = delta / A
    answer = function(p, delta, x1) { r <- delta / p[[2]]
      x1 + p[[3]] * log((exp(p[[4]]) * (1 - r) + r) / r) }),
  `stretched exponential` = list(names = c("P", "A", "tau", "b"), plateau = TRUE,
    curve = smooth_curve(~ P - A * exp((x1 / tau)^b - (x / tau)^b), c("P", "A", "tau", "b")),
    start = function(x, y) c(start_rise(x, y), tau = diff(range(x)) / 6, b = 1),
    answer = function(p, delta, x1) p[[3]] * ((x1 / p[[3]])^p[[4]] + log(p[[2]] / delta))^(1 / p[[4]])),
  `broken stick` = list(names = c("a", "b", "d", "c"), plateau = FALSE, corner = TRUE,
    curve = function(p, x, x1) { u <- pmax(0, x - p[[4]])
      list(f = p[[1]] + p[[2]] * x + p[[3]] * u, j = cbind(1, x, u, -p[[3]] * (x > p[[4]]))) },
    basis = function(c, x) cbind(1, x, pmax(0, x - c)))
)

# ---- least squares -------------------------------------------------------------------------------------
# Gauss-Newton with halving; the last steps are taken whatever the sum says.
polish <- function(f, p, x, y, x1) {
  for (it in 1:200) {
    v <- f$curve(p, x, x1)
    step <- qr.coef(qr(v$j), y - v$f)
    if (anyNA(step)) stop("singular")
    size <- max(abs(step) / pmax(abs(p), 1e-12))
    part <- 1
    while (size > 1e-7 && part > 1e-6) {
      try <- f$curve(p + part * step, x, x1)$f
      if (all(is.finite(try)) && sum((y - try)^2) <= sum((y - v$f)^2)) break
      part <- part / 2
    }
    p <- p + part * step
    if (size < 1e-13) break
  }
  p
}
corner_start <- function(f, x, y) { # the best corner gap by gap, then both ends of the gap
  k <- sort(unique(x))
  s <- function(c) sum(qr.resid(qr(f$basis(c, x)), y)^2)
  from <- if (identical(f$names[1], "a")) 1 else 2
  best <- list(objective = Inf)
  for (i in from:(length(k) - 1)) {
    o <- optimize(s, k[i + 0:1] + c(1e-9, -1e-9), tol = 1e-12)
    if (o$objective < best$objective) best <- o
  }
  c(qr.coef(qr(f$basis(best$minimum, x)), y), best$minimum)
}
fit_family <- function(name, x, y) {
  f <- families[[name]]; x1 <- min(x)
  p <- if (isTRUE(f$corner)) corner_start(f, x, y) else f$start(x, y)
  inside <- !isTRUE(f$corner) || name == "quadratic-plateau" || min(abs(p[[length(p)]] - x)) > 1e-6
  if (inside) p <- polish(f, p, x, y, x1)
  names(p) <- f$names
  v <- f$curve(p, x, x1); n <- length(y); k <- length(p)
  rss <- sum((y - v$f)^2)
  ss <- pure(x, y)
  log_lik <- -n / 2 * (log(2 * pi) + log(rss / n) + 1)
  aic <- -2 * log_lik + 2 * (k + 1)
  list(name = name, p = p, rss = rss, means = rss - ss$ss, s = sqrt(rss / (n - k)), k = k, x1 = x1,
       covariance = rss / (n - k) * solve(crossprod(v$j)),
       aicc = aic + 2 * (k + 1) * (k + 2) / (n - k - 2),
       misfit_p = pf((rss - ss$ss) / (ss$blocks - k) / (ss$ss / ss$dof), ss$blocks - k, ss$dof,
                     lower.tail = FALSE))
}
# consecutive rows at one setting are a block
block_of <- function(x) cumsum(c(TRUE, diff(x) != 0))
pure <- function(x, y) {
  b <- block_of(x)
  list(ss = sum((y - ave(y, b))^2), dof = length(y) - max(b), blocks = max(b))
}

# ---- exact profile intervals: where the sum of squares, minimised with one quantity pinned, reaches
# its criterion
criterion <- function(fit, x, y, level = 0.95) {
  n <- length(y); m <- pure(x, y)$blocks; q <- 0.5 + level / 2
  rows <- fit$rss / (n - fit$k) * qt(q, n - fit$k)^2
  means <- fit$means / (m - fit$k) * qt(q, m - fit$k)^2
  fit$rss + max(rows, means)
}
level_free <- function(g, y) { r <- y + g; sum((r - mean(r))^2) } # P profiled out of y = P - g
pinned_sum <- function(fit, delta, x, y) {
  f <- families[[fit$name]]; x1 <- fit$x1
  shape <- function(theta) -f$curve(c(0, 1, theta), x, x1)$f # g
  at <- function(theta, a) -f$curve(c(0, 1, theta), a, x1)$f
  free <- fit$p[-(1:2)]
  if (fit$name == "linear-plateau") # A (c - a) = delta
    return(function(a) best_of(function(u) { A <- delta / u; level_free(A * pmax(0, a + u - x), y) },
                               fit$p[["c"]] - a, x, a))
  if (length(free) == 1)
    return(function(a) optimize(function(u) { t <- exp(u); level_free(delta / at(t, a) * shape(t), y) },
                                log(free) + c(-1.5, 1.5), tol = 1e-13)$objective)
  last <- free
  function(a) {
    s <- function(t) {
      if (fit$name == "logistic") t[2] <- max(0, t[2]) # h = 0 is the exponential, where the family ends
      g <- if (t[1] > 0) delta / at(t, a) * shape(t) else NA
      if (all(is.finite(g))) level_free(g, y) / fit$rss else 1e9
    }
    simplex <- function(t) {
      for (i in 1:4) t <- optim(t, s, control = list(reltol = 1e-16, maxit = 4000,
                                                     parscale = pmax(abs(t), 1e-3)))$par
      t
    }
    tried <- list(simplex(last), simplex(free))
    sums <- sapply(tried, s)
    last <<- tried[[which.min(sums)]]
    min(sums) * fit$rss
  }
}
# over u > 0, the distance of the corner from the answer: gap by gap between settings
best_of <- function(s, u0, x, a) {
  k <- sort(unique(c(x[x > a] - a, 1e-9, 4 * abs(u0))))
  min(sapply(seq_len(length(k) - 1), function(i) optimize(s, k[i + 0:1], tol = 1e-13)$objective))
}
ends <- function(sum_at, estimate, crit, span) {
  g <- function(a) sum_at(a) - crit
  far <- function(sign) { d <- span / 64; while (g(estimate + sign * d) < 0 && d < 64 * span) d <- 2 * d; d }
  d <- far(-1); low <- uniroot(g, estimate - c(d, 0), tol = 1e-12)$root
  d <- far(1); c(low, uniroot(g, estimate + c(0, d), tol = 1e-12)$root)
}
answer_ends <- function(fit, delta, x, y)
  ends(pinned_sum(fit, delta, x, y), families[[fit$name]]$answer(fit$p, delta, fit$x1), criterion(fit, x, y), 1)
corner_ends <- function(fit, x, y) {
  f <- families[[fit$name]]
  ends(function(c) sum(qr.resid(qr(f$basis(c, x)), y)^2), fit$p[["c"]], criterion(fit, x, y), 1)
}

# ---- the rise over the last conditions, for two one-sided tests ------------------------------------------
rise_of <- function(fit, x, y, first) { # first: number of the condition, from 1
  k <- sort(unique(x)); use <- x >= k[first]
  s <- pure(x, y); m <- s$blocks
  shots <- s$ss / s$dof; means <- fit$means / (m - fit$k)
  v <- max(shots, means); dof <- if (shots > means) s$dof else m - fit$k
  l <- lm(y ~ x, data.frame(x = x[use], y = y[use]))
  range <- max(x) - k[first]
  half <- qt(0.95, dof) * range * sqrt(v / sum((x[use] - mean(x[use]))^2))
  r <- unname(coef(l)[2]) * range
  c(rise = r, low = r - half, high = r + half)
}
tost <- function(r, delta) {
  size <- abs(r[["rise"]]); half <- (r[["high"]] - r[["low"]]) / 2
  if (size + half <= delta) 1 else if (size - half > delta) -1 else 0
}

# ---- studentized range and analysis of means by quadrature -----------------------------------------------
# (R's own qtukey is wrong by up to 20 % below eight degrees of freedom)
over_s <- function(beyond, nu) { # P(statistic / s > q) from P(statistic > w)
  if (is.infinite(nu)) return(beyond(1))
  g <- function(s) sapply(s, function(x) 2 * nu * x * dchisq(nu * x * x, nu) * beyond(x))
  cut <- c(1e-9, .02, .05, .1, .2, .4, .7, 1, 1.4, 2, 4, 7)
  sum(mapply(function(a, b) integrate(g, a, b, rel.tol = 1e-9, abs.tol = 1e-13, subdivisions = 400)$value,
             head(cut, -1), tail(cut, -1)))
}
range_beyond <- function(q, k, nu)
  over_s(function(s) { w <- q * s
    1 - integrate(function(x) k * dnorm(x) * (pnorm(x) - pnorm(x - w))^(k - 1), -9, 9, rel.tol = 1e-11,
                  abs.tol = 1e-14, subdivisions = 1000)$value }, nu)
# k > 4 normals given that they sum to 0, by the characteristic function of a normal cut off at +-c
anom_beyond <- function(h, k, nu) {
  t <- seq(0, 20, by = 0.1) # images of the density of the sum are 2 pi / 0.1 apart
  over_s(function(s) { c <- h * s * sqrt(1 - 1 / k)
    z <- seq(0, c, length.out = 401); w <- c(1, rep(c(4, 2), 199), 4, 1) * c / 400 / 3
    psi <- 2 * drop(cos(outer(t, z)) %*% (dnorm(z) * w))
    1 - sqrt(k / (2 * pi)) * 0.1 * (2 * sum(psi^k) - psi[1]^k) }, nu)
}
tolerance_one_sided <- function(p, conf, n, nu = n - 1) qt(conf, nu, qnorm(p) * sqrt(n)) / sqrt(n)
