# Crown Assay. The two commands to know are: make demo, make test.

GO       ?= go
FUZZTIME ?= 5s
BENCH    ?= .

# The kernel is held against a general-purpose library of another language;
# its pinned packages are installed once, when the folder is there.
reference := bvh/testdata/reference
installed := $(if $(wildcard $(reference)/package-lock.json),$(reference)/node_modules/.package-lock.json)

.PHONY: all build test check fmt vet static order generate race fuzz bench demo clean

all: build

build: ## one binary, bin/crownassay
	$(GO) build -trimpath -o bin/crownassay ./cmd/crownassay

# The random cases take about 5 minutes a hundred on two quiet cores; a release is
# held to CROWNASSAY_CASES=200 make test.
test: $(installed) ## everything that proves the project
	@mkdir -p build
	$(GO) test -timeout 30m -skip '^TestRandomCases$$' ./...
	$(GO) test -timeout 30m -v -run '^TestRandomCases$$' ./assay > build/random-cases.txt || { tail -40 build/random-cases.txt; exit 1; }
	@grep -E 'random cases|failure rate|seed [0-9]+,|^ok' build/random-cases.txt

$(reference)/node_modules/.package-lock.json: $(reference)/package-lock.json
	cd $(reference) && npm ci --no-audit --no-fund
	@touch $@

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

race: $(installed)
	$(GO) test -race -short -timeout 60m ./...

fuzz: ## each fuzz target for FUZZTIME
	@for p in $$($(GO) list ./...); do \
	  for f in $$($(GO) test -list '^Fuzz' $$p | grep '^Fuzz'); do \
	    echo "$$p $$f"; $(GO) test -run '^$$' -fuzz "^$$f\$$" -fuzztime $(FUZZTIME) $$p || exit 1; \
	  done; \
	done

bench: ## BENCH=name for one of them
	$(GO) test -run '^$$' -bench '$(BENCH)' -benchmem ./...

demo: ## invented cases into ./demo, measured
	$(GO) run ./cmd/crownassay demo demo

clean:
	rm -rf bin build demo
