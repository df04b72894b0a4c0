# Prints R's version and those of the packages the comparison loads; fails where one is missing.
packages <- c("lme4", "lmerTest", "pbkrtest", "emmeans", "nlme", "jsonlite")
found <- sapply(packages, function(name) {
  suppressMessages(loadNamespace(name))
  as.character(packageVersion(name))
})
cat(paste0("R ", getRversion(), ", ", paste(names(found), found, collapse = ", "), "\n"))
