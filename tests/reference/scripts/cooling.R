# SPDX-License-Identifier: GPL-3.0-or-later
# Values of tests/reference/test_cooling_values.c. R 4.2 or later: Rscript cooling.R
# One-sided tolerance factors with a pooled standard deviation: n shots behind the mean, nu degrees of freedom
# behind the standard deviation.
k <- function(p, conf, n, nu) qt(conf, nu, qnorm(p) * sqrt(n)) / sqrt(n)
for (a in list(c(0.9973, 0.95, 3, 16), c(0.99865, 0.95, 3, 16), c(0.9973, 0.95, 1.5, 7.25), c(0.9, 0.05, 3, 16),
               c(0.99865, 0.95, 3, 60)))
    cat(a, sprintf("%.10f\n", k(a[1], a[2], a[3], a[4])))

# A part temperature that falls to a limit: T = 58 + 80 exp(-(x - 6) / 3) with scatter, limit 80 degC.
x <- rep(c(6, 8, 10, 12, 14, 16, 18, 20), each = 3)
y <- c(138.3, 137.5, 138.1, 99.4, 98.9, 99.6, 79.2, 79.3, 78.6, 68.5, 69.0, 68.6, 63.7, 63.9, 63.2,
       60.6, 60.9, 61.2, 59.3, 59.6, 59.1, 58.6, 58.9, 58.4)
limit <- 80
s <- function(f, tau) {
    h <- exp(-(x - 6) / tau) - exp(-(f - 6) / tau)
    a <- max(0, sum((y - limit) * h) / sum(h^2))
    sum((y - limit - a * h)^2)
}
profile <- function(f) optimize(function(u) s(f, exp(u)), log(c(0.5, 100)), tol = 1e-12)$objective
fit <- optim(c(9.9, log(3)), function(v) s(v[1], exp(v[2])), control = list(reltol = 1e-16, maxit = 1e5))
fit <- optim(fit$par, function(v) s(v[1], exp(v[2])), control = list(reltol = 1e-16, maxit = 1e5))
n <- length(x); m <- 8; p <- 3
means <- tapply(y, x, mean)
pure <- sum((y - means[as.character(x)])^2)
rows <- fit$value / (n - p) * qt(0.975, n - p)^2
blocks <- (fit$value - pure) / (m - p) * qt(0.975, m - p)^2
crit <- fit$value + max(rows, blocks)
low <- uniroot(function(f) profile(f) - crit, c(8.5, fit$par[1]), tol = 1e-13)$root
high <- uniroot(function(f) profile(f) - crit, c(fit$par[1], 11.5), tol = 1e-13)$root
cat(sprintf("crossing %.8f %.8f %.8f\n", fit$par[1], low, high))
f <- nls(y ~ end + drop * exp(-(x - 6) / tau), start = list(end = 58, drop = 80, tau = 3))
cat(sprintf("%.9f ", coef(f)), "\n")
cat(sprintf("rows wider %d, rss %.10f, rows sd %.8f\n", rows > blocks, fit$value, sqrt(pure / (n - m))))
