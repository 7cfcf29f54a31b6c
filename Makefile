# Two commands do everything on a fresh machine: `make demo` and `make test`.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMPS := $(VENV)/stamps

.PHONY: setup setup-server demo serve test check bench lock licences sbom audit clean

setup: $(STAMPS)/run  ## a working .venv/bin/heelstamp

setup-server: $(STAMPS)/server  ## the same with what a shop on PostgreSQL needs

demo: setup  ## the main job, end to end, in ./demo-shop
	@$(BIN)/heelstamp demo --shop demo-shop --fresh

serve: setup  ## the bench in a browser, of the shop in ./shop or in HEELSTAMP_SHOP
	@$(BIN)/heelstamp serve --shop "$${HEELSTAMP_SHOP:-shop}"

# compiled tests are kept, whatever the shell says: half of what a run spends before its first test
test: $(STAMPS)/test  ## every test; says in one line what this machine cannot run
	@PYTHONDONTWRITEBYTECODE= OPENBLAS_NUM_THREADS=1 OMP_NUM_THREADS=1 OPENCV_FOR_THREADS_NUM=1 $(BIN)/python -m pytest -n auto --dist loadfile

check: $(STAMPS)/test  ## format, lint, types, import contracts, generated documents
	@$(BIN)/ruff format --check --quiet src tests builders benchmarks
	@$(BIN)/ruff check --quiet src tests builders benchmarks
	@$(BIN)/mypy
	@$(BIN)/mypy --platform win32 --no-warn-unreachable --cache-dir .mypy_cache/win32
	@$(BIN)/lint-imports --no-cache
	@$(BIN)/python builders/schema.py --check
	@$(BIN)/python builders/api_page.py --check
	@$(BIN)/python builders/reference_tables.py --check
	@$(BIN)/python builders/demo_recordings.py --check
	@$(BIN)/python builders/demo_journal.py --check
	@$(BIN)/python builders/demo_census.py --check
	@$(BIN)/python builders/web_fonts.py --check
	@$(BIN)/python builders/font_coverage.py --check
	@$(BIN)/python builders/web_icons.py --check
	@$(BIN)/python builders/demo_sales.py --check
	@echo "check: format, lint, types, import contracts and generated documents agree"

bench: $(STAMPS)/bench  ## figures against peers, in one run
	@$(BIN)/python benchmarks/run.py

lock:  ## renew requirements/*.txt after a change of pyproject.toml
	@$(PYTHON) builders/lock.py

licences: $(STAMPS)/test  ## docs/licences.md from the metadata of what is installed
	@$(BIN)/python builders/licences.py

sbom: $(STAMPS)/run  ## sbom.json, a bill of materials (CycloneDX)
	@$(BIN)/python builders/audit.py sbom

audit: $(STAMPS)/run  ## known weaknesses of packages; says so where no data can be reached
	@$(BIN)/python builders/audit.py weaknesses

clean:
	rm -rf $(VENV) demo-shop

$(BIN)/python:
	@$(PYTHON) builders/make_venv.py $(VENV)

$(STAMPS)/%: requirements/%.txt pyproject.toml | $(BIN)/python
	@$(PYTHON) builders/install.py $(VENV) $<
	@mkdir -p $(STAMPS) && touch $@
