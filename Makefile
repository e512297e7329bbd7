# plateau: GNU make, one file. `make help` lists what it can do.
#
#   VARIANT=release|debug|asan|ubsan|cov   WERROR=1   V=1   PREFIX, DESTDIR, CC, CFLAGS, LDFLAGS
MAKEFLAGS += -rR
ifeq ($(filter -j%,$(MAKEFLAGS)),)
MAKEFLAGS += -j$(shell nproc 2>/dev/null || echo 2)
endif
.DELETE_ON_ERROR:
.SECONDARY:
.SUFFIXES:
SHELL = /bin/sh
# V=1 shows the whole command
say = $(if $(V),,@echo "  $(1)" $(patsubst $(BUILD)/%,%,$@);)

CC      = cc
AR      = ar
VARIANT = release
PREFIX  = /usr/local
BUILD   = build/$(VARIANT)

# ---- what must be installed (Debian's names); the one list ------------------------------------
PACKAGES_BUILD = gcc libc6-dev libgsl-dev libcsv-dev libjansson-dev libmd-dev
PACKAGES_CHECK = libcmocka-dev jq mandoc
PACKAGES_LINT  = clang-format-14 clang-tidy-14 cppcheck
PACKAGES_DEEP  = valgrind clang-14 libclang-rt-14-dev

# ---- flags -------------------------------------------------------------------------------------
CFLAGS_release = -O2 -g
CFLAGS_debug   = -Og -g
CFLAGS_asan    = -O1 -g -fsanitize=address,undefined,float-divide-by-zero,float-cast-overflow \
                 -fno-sanitize-recover=all -fno-omit-frame-pointer -DARENA_DISCRETE=1
CFLAGS_ubsan   = -O1 -g -fsanitize=undefined,float-divide-by-zero,float-cast-overflow \
                 -fno-sanitize-recover=all
CFLAGS_cov     = -O0 -g --coverage
# `make fuzz` sets this with CC=clang-14; tests/fuzz/pool.c is its arena
CFLAGS_fuzz    = -O2 -g -fsanitize=fuzzer-no-link,address,undefined,float-divide-by-zero,float-cast-overflow \
                 -fno-sanitize-recover=all -fno-sanitize-coverage=trace-cmp
# without the sanitizers twice as many inputs a second: `make fuzz FUZZ_VARIANT=fuzzfast`
CFLAGS_fuzzfast = -O2 -g -fsanitize=fuzzer-no-link -fno-sanitize-coverage=trace-cmp
WARNINGS = -Wall -Wextra -Wpedantic -Wconversion -Wsign-conversion -Wshadow -Wstrict-prototypes \
           -Wmissing-prototypes -Wvla -Wformat=2 -Wdouble-promotion -Wundef -Wswitch-enum
ifeq ($(WERROR),1)
WARNINGS += -Werror
endif
PL_CFLAGS   = -std=c11 -ffp-contract=off $(WARNINGS) $(CFLAGS_$(VARIANT)) $(CFLAGS)
PL_CPPFLAGS = -D_POSIX_C_SOURCE=200809L -Iinclude -Isrc -I$(BUILD)/gen $(CPPFLAGS)
LIBS        = -lgsl -lgslcblas -lcsv -ljansson -lmd -lm
TEST_LIBS   = -lcmocka

# ---- what there is -----------------------------------------------------------------------------
ROOMS     = base read math finding study window report cli
STUDY_SRC = $(wildcard studies/*.c studies/*/*.c)
LIB_SRC   = $(wildcard $(ROOMS:%=src/%/*.c)) $(STUDY_SRC)
LIB_OBJ   = $(LIB_SRC:%.c=$(BUILD)/%.o)
LIB       = $(BUILD)/libplateau.a
PROGRAM   = $(BUILD)/plateau
SELF      = $(BUILD)/gen/self-trial.inc $(BUILD)/gen/self-record.inc
EMBEDDED  = $(SELF) $(patsubst %,$(BUILD)/gen/%.inc,$(notdir $(wildcard studies/*/*.csv studies/*/*.md)))
TEST_SRC  = $(wildcard tests/unit/test_*.c tests/reference/test_*.c tests/property/test_*.c)
TEST_BIN  = $(TEST_SRC:%.c=$(BUILD)/%)
SUPPORT   = $(wildcard tests/support/*.c)
SUPPORT_OBJ = $(SUPPORT:%.c=$(BUILD)/%.o)
FUZZ_SRC  = tests/fuzz/fuzz.c tests/fuzz/rfc4180.c $(wildcard tests/fuzz/target_*.c)
FUZZ_OBJ  = $(FUZZ_SRC:%.c=$(BUILD)/%.o)
FUZZER    = $(BUILD)/tests/fuzz/fuzzer
REPLAY    = $(BUILD)/tests/fuzz/replay
ABUSE     = $(BUILD)/tests/abuse/die_at.so $(BUILD)/tests/abuse/usage
COVERAGE_OBJ = $(patsubst %.c,$(BUILD)/%.o,$(wildcard tests/coverage/*.c))
COVERAGE  = $(BUILD)/tests/coverage/coverage
ALL_OBJ   = $(COVERAGE_OBJ) $(LIB_OBJ) $(BUILD)/src/main.o $(SUPPORT_OBJ) $(TEST_SRC:%.c=$(BUILD)/%.o) $(FUZZ_OBJ) \
            $(REPLAY).o $(BUILD)/tests/fuzz/entry.o $(BUILD)/tests/fuzz/pool.o

.PHONY: all
all: build/plateau build/libplateau.a ## the program and the library

build/plateau: $(PROGRAM)
	@ln -sf $(VARIANT)/plateau $@
build/libplateau.a: $(LIB)
	@ln -sf $(VARIANT)/libplateau.a $@

$(PROGRAM): $(BUILD)/src/main.o $(LIB)
	$(call say,LD)$(CC) $(PL_CFLAGS) $(LDFLAGS) -o $@ $< $(LIB) $(LIBS)
$(LIB): $(LIB_OBJ)
	@rm -f $@
	$(call say,AR)$(AR) qcs $@ $^

$(BUILD)/%.o: %.c $(BUILD)/flags | build/packages-build $(EMBEDDED)
	@mkdir -p $(@D)
	$(call say,CC)$(CC) $(PL_CPPFLAGS) $(PL_CFLAGS) -MMD -MP -c -o $@ $<
$(SUPPORT_OBJ) $(TEST_SRC:%.c=$(BUILD)/%.o): | build/packages-check
$(SUPPORT_OBJ) $(TEST_SRC:%.c=$(BUILD)/%.o): private PL_CPPFLAGS += -Itests/support -DSOURCE_DIR='"$(CURDIR)"'
$(TEST_BIN): $(BUILD)/%: $(BUILD)/%.o $(SUPPORT_OBJ) $(LIB)
	$(call say,LD)$(CC) $(PL_CFLAGS) $(LDFLAGS) -o $@ $< $(SUPPORT_OBJ) $(LIB) $(TEST_LIBS) $(LIBS)

$(COVERAGE_OBJ): private PL_CPPFLAGS += -Itests/support
$(COVERAGE): $(COVERAGE_OBJ) $(SUPPORT_OBJ) $(LIB)
	$(call say,LD)$(CC) $(PL_CFLAGS) $(LDFLAGS) -o $@ $^ $(TEST_LIBS) $(LIBS)
$(REPLAY): $(REPLAY).o $(FUZZ_OBJ) $(LIB)
	$(call say,LD)$(CC) $(PL_CFLAGS) $(LDFLAGS) -o $@ $(REPLAY).o $(FUZZ_OBJ) $(LIB) $(LIBS)
# not of the program: no sanitizers
$(BUILD)/tests/abuse/die_at.so: tests/abuse/die_at.c
	@mkdir -p $(@D)
	$(call say,CC)$(CC) -std=c11 $(WARNINGS) -O1 -shared -fPIC -o $@ $< -ldl
$(BUILD)/tests/abuse/usage: tests/abuse/usage.c
	@mkdir -p $(@D)
	$(call say,CC)$(CC) -std=c11 $(WARNINGS) -O1 -o $@ $<
$(FUZZER): $(BUILD)/tests/fuzz/entry.o $(BUILD)/tests/fuzz/pool.o $(FUZZ_OBJ) $(LIB)
	$(call say,LD)$(CC) $(PL_CFLAGS) -fsanitize=fuzzer $(LDFLAGS) -o $@ $(filter %.o,$^) $(LIB) $(LIBS)

# a text file as the characters of a C array, so that the program carries it
vpath %.csv $(wildcard studies/*)
vpath %.md $(wildcard studies/*)
$(BUILD)/gen/%.inc: %
	@mkdir -p $(@D)
	@od -An -v -tu1 $< | sed 's/[0-9][0-9]*/&,/g' > $@

# the trial that `verify --self` computes: the demo, and its record
SELF_FILES = $(wildcard demo/*.csv) demo/trial.ini
$(BUILD)/gen/self-trial.inc: $(SELF_FILES)
	@mkdir -p $(@D)
	@for f in $(SELF_FILES); do printf '{"%s",\n (const char[]){\n' "$${f##*/}"; \
	 od -An -v -tu1 "$$f" | sed 's/[0-9][0-9]*/&,/g'; printf '0}, %d},\n' "$$(wc -c <"$$f")"; done >$@
$(BUILD)/gen/self-record.inc: tests/golden/demo/record.json
	@mkdir -p $(@D)
	@od -An -v -tu1 $< | sed 's/[0-9][0-9]*/&,/g' >$@

# rebuild when the flags change
$(BUILD)/flags: FORCE
	@mkdir -p $(@D)
	@echo '$(CC) $(subst ','\'',$(PL_CPPFLAGS) $(PL_CFLAGS) $(LDFLAGS))' | cmp -s - $@ || \
	 echo '$(CC) $(subst ','\'',$(PL_CPPFLAGS) $(PL_CFLAGS) $(LDFLAGS))' > $@
.PHONY: FORCE
FORCE:

-include $(ALL_OBJ:.o=.d)

# ---- packages: on Debian missing ones are installed, elsewhere they are named --------------------
build/packages-%: .ci/packages
	@mkdir -p build
	@sh .ci/packages $*: $(PACKAGES_$(shell echo $* | tr a-z A-Z))
	@touch $@

# ---- tests ---------------------------------------------------------------------------------------
.PHONY: check check-programs check-scripts demo lint
check: all $(TEST_BIN) $(REPLAY) $(ABUSE) $(COVERAGE) | build/packages-check ## build and run every test
	@VARIANT=$(VARIANT) sh tests/support/run-tests.sh $(TEST_BIN)
asan ubsan: ## every test under the sanitizers
	$(MAKE) check VARIANT=$@
.PHONY: asan ubsan
check-valgrind: all $(TEST_BIN) $(REPLAY) | build/packages-deep ## every test program under valgrind (half an hour)
	@PLATEAU_TRIALS=2 VARIANT=$(VARIANT) WRAP='valgrind -q --error-exitcode=99 --leak-check=full --errors-for-leak-kinds=definite' \
	 sh tests/support/run-tests.sh $(TEST_BIN)
.PHONY: check-valgrind
check-abuse: all $(ABUSE) ## files of absurd size, killed programs and full disks at full length (ten minutes, 1 GiB)
	@sh tests/abuse/size.sh $(PROGRAM) $(BUILD)/tests/abuse 100
	@sh tests/abuse/kill.sh $(PROGRAM) $(BUILD)/tests/abuse 1 200
.PHONY: check-abuse
crosscheck: build/plateau ## reference values and the demo's record computed again in R, where R is installed
	@sh tests/reference/scripts/crosscheck.sh build/plateau
.PHONY: crosscheck

# FUZZ_RUNS inputs for each target (FUZZ_TARGETS: which); FUZZ_KEEP names a folder in which the corpus grows
FUZZ_RUNS    = 200000
FUZZ_TARGETS =
FUZZ_VARIANT = fuzz
fuzz: all ## every reader under libFuzzer (clang): FUZZ_RUNS inputs each
	@if ! command -v clang-14 >/dev/null; then sh .ci/packages deep: $(PACKAGES_DEEP); fi
	@$(MAKE) VARIANT=$(FUZZ_VARIANT) CC=clang-14 WARNINGS= build/$(FUZZ_VARIANT)/tests/fuzz/fuzzer
	@sh tests/fuzz/fuzz.sh build/$(FUZZ_VARIANT)/tests/fuzz/fuzzer $(FUZZ_RUNS) $(FUZZ_TARGETS)
.PHONY: fuzz

# TRIALS simulated trials of each cell of tests/coverage/cells.tsv whose name CELLS matches; usual: by the cost of a
# trial, see tests/coverage/run.sh. `make coverage-table` puts the last run into docs/.
TRIALS = usual
CELLS  = .
coverage: $(COVERAGE) ## whether the intervals hold the truth, cell by cell (a quarter of an hour on two fast cores, hours elsewhere; TRIALS=, CELLS=)
	@sh tests/coverage/run.sh $(COVERAGE) $(BUILD)/tests/coverage '$(CELLS)' '$(TRIALS)'
coverage-table: ## write the results of `make coverage` into docs/validation.md and docs/coverage.md
	@sh tests/coverage/publish.sh $(BUILD)/tests/coverage/table
coverage-lots: all ## how often a new lot is judged wrongly against an approved record (ten minutes; TRIALS=)
	@sh tests/coverage/new_lot.sh $(PROGRAM) $(if $(filter usual,$(TRIALS)),100,$(TRIALS))
.PHONY: coverage coverage-table coverage-lots

demo: build/plateau ## analyze the demo trial: prints the window and where the results lie
	@build/plateau analyze demo

lint: $(EMBEDDED) | build/packages-lint build/packages-check ## layering, format, cppcheck, clang-tidy, man page
	@sh tests/support/house-rules.sh
	@clang-format-14 --dry-run -Werror $$(git ls-files '*.c' '*.h')
	@cppcheck --quiet --std=c11 --enable=warning,performance,portability --inline-suppr \
	 --suppress=missingIncludeSystem --error-exitcode=1 -Iinclude -Isrc src studies
	@printf '%s\n' $(LIB_SRC) src/main.c | xargs -P $$(nproc) -n 4 sh -c \
	 'clang-tidy-14 --quiet "$$@" -- $(PL_CPPFLAGS) -std=c11 2>/dev/null' tidy
	@mandoc -T lint -W warning docs/plateau.1
	@echo "lint: clean"

format: ## rewrite the sources in the house format
	clang-format-14 -i $$(git ls-files '*.c' '*.h')
.PHONY: format

golden-update: all ## rewrite the golden outputs and show what changed
	@UPDATE=1 sh tests/golden/run.sh build/plateau
	@git diff --stat -- tests/golden
.PHONY: golden-update

# ---- install ---------------------------------------------------------------------------------------
install: all ## program, manual page, completion (PREFIX, DESTDIR)
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(PREFIX)/share/man/man1 \
	 $(DESTDIR)$(PREFIX)/share/bash-completion/completions
	install -m 755 build/plateau $(DESTDIR)$(PREFIX)/bin/plateau
	install -m 644 docs/plateau.1 $(DESTDIR)$(PREFIX)/share/man/man1/plateau.1
	install -m 644 docs/completion.bash $(DESTDIR)$(PREFIX)/share/bash-completion/completions/plateau
uninstall: ## undo install
	rm -f $(DESTDIR)$(PREFIX)/bin/plateau $(DESTDIR)$(PREFIX)/share/man/man1/plateau.1 \
	 $(DESTDIR)$(PREFIX)/share/bash-completion/completions/plateau
clean: ## remove what was built
	rm -rf build demo/report
help: ## this list
	@sed -n 's/^\([a-z][a-z -]*\):.*## /\1: /p' $(firstword $(MAKEFILE_LIST))
.PHONY: install uninstall clean help
