# Crown Assay. The two commands to know are: make demo, make test.

GO       ?= go
FUZZTIME ?= 5s
BENCH    ?= .

# The kernel and the formats are held against libraries and validators of
# another language; their pinned packages are installed once.
references := $(wildcard */testdata/reference/package-lock.json)
installed  := $(references:package-lock.json=node_modules/.package-lock.json)

# The page is built from web/src into web/dist, which the program embeds. Where
# there is no npm it is left out, and the program says so.
npm     := $(shell command -v npm)
modules := web/src/node_modules/.package-lock.json
page    := $(if $(npm),web/dist/index.html)

.PHONY: all page browser build test references check fmt vet static order generate race fuzz bench demo clean

all: build

build: $(page) ## one binary, bin/crownassay
	$(GO) build -trimpath -o bin/crownassay ./cmd/crownassay

# What tests compare with comes from Debian's packages. Where it cannot be
# installed, the tests that need it are skipped and say so.
debian = { [ "$$(id -u)" = 0 ] && command -v apt-get >/dev/null && apt-get update -q >/dev/null && DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends $(1) >/dev/null; } || true

references: $(installed)
	@Rscript -e 'library(MASS); library(survival)' >/dev/null 2>&1 || $(call debian,r-base-core r-cran-mass r-cran-survival)
	@ls /usr/lib/postgresql/*/bin/initdb >/dev/null 2>&1 || command -v initdb >/dev/null || $(call debian,postgresql)

# The random cases are 200, or as many as CROWNASSAY_CASES says.
test: references ## everything that proves the project
	@mkdir -p build
	$(GO) test -timeout 30m -skip '^TestRandomCases$$' ./...
	$(GO) test -timeout 30m -v -run '^TestRandomCases$$' ./assay > build/random-cases.txt || { tail -40 build/random-cases.txt; exit 1; }
	@grep -E 'random cases|failure rate|seed [0-9]+,|^ok' build/random-cases.txt
	$(if $(npm),$(MAKE) browser,@echo "tests of the page skipped: there is no npm")

%/testdata/reference/node_modules/.package-lock.json: %/testdata/reference/package-lock.json
	cd $*/testdata/reference && npm ci --no-audit --no-fund --ignore-scripts
	@touch $@

$(modules): web/src/package-lock.json
	cd web/src && npm ci --no-audit --no-fund
	@touch $@

web/dist/index.html: $(modules) $(wildcard web/src/page/* web/src/public/* web/src/*.html web/src/*.ts)
	cd web/src && npm run --silent types && rm -rf ../dist/assets && npm run --silent build
	@touch $@

page: $(page) ## the bench's page, into web/dist

browser: build $(modules) ## the page's own tests, and the page in a browser against the real program
	cd web/src && npm run --silent test
	@command -v chromium >/dev/null || $(call debian,chromium)
	@if command -v chromium >/dev/null; then cd web/src && npm run --silent browser; \
	else echo "browser tests skipped: there is no chromium, and it could not be installed (apt-get install chromium, as root)"; fi

check: fmt vet static order generate race fuzz ## what a change must pass before review

fmt:
	@files=$$(gofmt -l .); if [ -n "$$files" ]; then echo "not formatted: $$files; run gofmt -w"; exit 1; fi

vet:
	$(GO) vet ./...

static:
	$(GO) tool staticcheck ./...

order:
	$(GO) test ./internal/layout

generate: ## made files must be what the code makes
	@mkdir -p build && cp docs/READINGS.md build/READINGS.before
	$(GO) generate ./...
	@cmp docs/READINGS.md build/READINGS.before || { echo "docs/READINGS.md was old; it is new now, commit it"; exit 1; }

race: references
	$(GO) test -race -short -timeout 60m ./...

fuzz: ## each fuzz target for FUZZTIME
	@for p in $$($(GO) list ./...); do \
	  for f in $$($(GO) test -list '^Fuzz' $$p | grep '^Fuzz'); do \
	    echo "$$p $$f"; $(GO) test -run '^$$' -fuzz "^$$f\$$" -fuzztime $(FUZZTIME) $$p || exit 1; \
	  done; \
	done

bench: ## BENCH=name for one of them
	$(GO) test -run '^$$' -bench '$(BENCH)' -benchmem ./...

demo: $(page) ## invented cases into ./demo, measured
	$(GO) run ./cmd/crownassay demo demo

clean:
	rm -rf bin build demo web/dist/assets web/dist/index.html web/dist/mark.svg
