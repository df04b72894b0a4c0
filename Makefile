# Every target hands over to toolkit/start.py, which does the same on systems without make.
PYTHON ?= python3
START = $(PYTHON) toolkit/start.py

.DEFAULT_GOAL := help
.NOTPARALLEL:
.PHONY: help report new check plan papers run runs bundle verify season lab test lint bench validity r-reference office browser clean lock

help: ## list the recipes
	@$(START) help

report: ## run the example study
	@$(START) report

new: ## make new DIR=my_trial
	@$(START) new $(if $(DIR),"$(DIR)") $(ARGS)

check plan papers run runs bundle lab: ## make check STUDY=my_trial
	@$(START) $@ $(if $(STUDY),"$(STUDY)") $(ARGS)

verify: ## make verify BUNDLE=my_trial/bundle-001.zip
	@$(START) verify $(if $(BUNDLE),"$(BUNDLE)") $(ARGS)

season: ## make season DIR=next_trial STUDY=my_trial COVERS_ON=2027-01-18
	@$(START) season $(if $(DIR),"$(DIR)") $(if $(STUDY),--from "$(STUDY)") \
		$(if $(COVERS_ON),--covers-on "$(COVERS_ON)") $(ARGS)

test bench validity r-reference office browser clean: ## make test ARGS="-k paths"
	@$(START) $@ $(ARGS)

lint lock:
	@$(START) $@
