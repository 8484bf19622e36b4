# Reference values of test/published/nlme-components.test.ts: Rscript test/published/scripts/nlme-components.R
# Data and method: R's nlme (Pinheiro and Bates 2000). Oxide and Machines are data sets of that package.
library(nlme)
options(digits = 10)
show <- function(title, fit) {
  cat(title, "\n"); print(VarCorr(fit)); cat("sigma", sigma(fit), "logLik", logLik(fit), "\n")
  print(fixef(fit)); print(summary(fit)$tTable[, "Std.Error"])
}
# Nested, balanced: wafers within lots, three sites a wafer.
show("Oxide", lme(Thickness ~ 1, Oxide, ~ 1 | Lot/Wafer))
# The same, unbalanced: rows 3, 4, 11, 17, 18, 25, 26, 27, 40, 52, 53, 66, 70 taken out.
out <- c(3, 4, 11, 17, 18, 25, 26, 27, 40, 52, 53, 66, 70)
show("Oxide, unbalanced", lme(Thickness ~ 1, Oxide[-out, ], ~ 1 | Lot/Wafer))
# Nested and heteroscedastic: workers, machines within workers, a residual scatter of its own for every machine.
fit <- lme(score ~ Machine, Machines, ~ 1 | Worker/Machine, weights = varIdent(form = ~ 1 | Machine),
           control = lmeControl(msTol = 1e-12, tolerance = 1e-10, msMaxIter = 500, maxIter = 500))
show("Machines", fit)
print(coef(fit$modelStruct$varStruct, unconstrained = FALSE, allCoef = TRUE))
cat("Oxide data\n"); cat(paste(Oxide$Lot, Oxide$Wafer, Oxide$Thickness, sep = ","), sep = " ")
cat("\nMachines data\n"); cat(paste(Machines$Worker, Machines$Machine, Machines$score, sep = ","), sep = " ")
cat("\n")
