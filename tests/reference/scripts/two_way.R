# SPDX-License-Identifier: GPL-3.0-or-later
# Rscript two_way.R   Expected values of the two-way layout and of the odd observation in
# tests/reference/test_anova.c: four cavities, six shots, weights in g.
options(digits = 15)
w <- rbind(c(12.412, 12.431, 12.405, 12.440, 12.399, 12.426),
           c(12.305, 12.318, 12.301, 12.337, 12.290, 12.311),
           c(12.498, 12.520, 12.487, 12.529, 12.489, 12.507),
           c(12.377, 12.391, 12.362, 12.391, 12.358, 12.380))
d <- data.frame(y = as.vector(t(w)), cavity = factor(rep(1:4, each = 6)), shot = factor(rep(1:6, 4)))
fit <- aov(y ~ cavity + shot, d)
table <- summary(fit)[[1]]
print(table[["Sum Sq"]]); print(table[["F value"]]); print(table[["Pr(>F)"]])
print(summary(lm(y ~ cavity + shot, d))$sigma)
t <- rstudent(lm(y ~ cavity + shot, d))
i <- which.max(abs(t))
e <- residuals(lm(y ~ cavity + shot, d)); h <- hatvalues(lm(y ~ cavity + shot, d))
print(c(i, unname(e[i] / (1 - h[i])), 24 * 2 * pt(-abs(unname(t[i])), fit$df.residual - 1)))
m <- rowMeans(w); n <- 6; k <- 4; nu <- fit$df.residual; s <- summary(lm(y ~ cavity + shot, d))$sigma
R <- max(m) - min(m)
# ptukey is good to 3e-7 here (nu = 15)
print(c(R / max(m), max(0, R - qtukey(.975, k, nu) * s / sqrt(n)) / max(m),
        (R + qt(.975, nu) * s * sqrt(2 / n)) / max(m)))

# the fifth shot of the third cavity 0.03 g lighter: does shot 5 have a pattern of its own?
d$y[d$cavity == 3 & d$shot == 5] <- d$y[d$cavity == 3 & d$shot == 5] - 0.03
with <- lm(y ~ cavity + shot, d)
d$own <- factor(ifelse(d$shot == 5, as.character(d$cavity), "0"))
a <- anova(with, lm(y ~ cavity + shot + own, d))
print(c(a$F[2], 6 * a$`Pr(>F)`[2]))
