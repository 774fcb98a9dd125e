# Strutpress: one Makefile. `make help` lists the targets.
#   VARIANT=release|debug|san|tsan|cov|fuzz|fuzz-checked|fuzz-fast  builds into build/$(VARIANT)     V=1  shows the commands
#   DEV=1                               warnings are errors (CI sets it); without it a newer compiler may warn and still build
#   CC=clang-14                         another compiler (give BUILD=build/clang to keep both)
#   NATIVE=1                            -march=native: a little faster, but figures then differ in the last digits
#                                       from machine to machine, so it is off and no published figure uses it
# The version stands in the public header; the name of the shared library changes with the second number (docs/library.md).
VERSION := $(subst $() $(),.,$(shell sed -n 's/^\#define SP_VERSION_\(MAJOR\|MINOR\|PATCH\) //p' include/strutpress/version.h))
SONAME := libstrutpress.so.$(basename $(VERSION))
SHELL := /bin/bash
VARIANT ?= release
CC := $(if $(filter default undefined,$(origin CC)),gcc,$(CC))
CLANG ?= clang-14
CXX := $(if $(filter default undefined,$(origin CXX)),$(if $(findstring clang,$(CC)),$(subst clang,clang++,$(CC)),g++),$(CXX))
CLANG_FORMAT ?= clang-format-14
V ?= 0
BUILD ?= build/$(VARIANT)
PREFIX ?= /usr/local
FUZZ_SECONDS ?= 20
OUT ?= out
# The chart library of the report page, kept in src/study/report/page/uplot.
UPLOT_VERSION := 1.6.32
UPLOT_SHA256 := 4b8a8191e425658e3ea8c8c1314b0fc679c861ee3a1af2b20c7b16ba50b5133d
comma := ,
Q := $(if $(filter 1,$(V)),,@)
# Make runs jobs in parallel unless its caller gave -j.
JOBS = $(if $(filter -j% --jobserver%,$(MAKEFLAGS)),,-j$(shell nproc 2>/dev/null || echo 2))
SUB = +$(Q)$(MAKE) --no-print-directory $(if $(Q),-s) $(JOBS)

# Debian 12 packages: to build and run the demo, to run the tests, to check the code.
PACKAGES_BUILD := gcc libc6-dev make libsuitesparse-dev libopenblas-dev libyaml-dev libqhull-dev libjansson-dev libsqlite3-dev libnlopt-dev libzip-dev libxml2-dev libgeos-dev libmicrohttpd-dev
PACKAGES_TEST := libcmocka-dev pkg-config g++ binutils
PACKAGES_CHECK := clang-14 clang-format-14 libclang-rt-14-dev libomp-14-dev valgrind
PACKAGES_BROWSER := chromium poppler-utils $(if $(shell command -v npm),,nodejs npm)
PACKAGES_CLUSTER := munge slurmctld slurmd slurm-client # make cluster-test alone
PACKAGES_PRINT := lib3mf-dev admesh g++ # make print-check alone
PACKAGES_PYTHON := python3 python3-numpy # make python-test alone, and python3-matplotlib for python-demo
PACKAGES_BLOCKS := sqlite3 # make blocks alone
PACKAGES := $(PACKAGES_BUILD) $(PACKAGES_TEST) $(PACKAGES_CHECK)

WARN := -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Wmissing-prototypes $(if $(filter 1,$(DEV)),-Werror)
OPT_release := -O3 -fno-math-errno -fno-trapping-math
OPT_debug := -Og -g3
OPT_san := -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all
OPT_tsan := -O1 -g -fno-omit-frame-pointer -fsanitize=thread
OPT_cov := -O1 -g --coverage -fprofile-update=prefer-atomic
OPT_fuzz := $(OPT_san) -O2 -fsanitize=fuzzer-no-link
# These are for long runs: a broken rule of C traps without a report, and comparisons are not traced (words come from a dictionary).
# They run some twenty times as many inputs as `fuzz`; without the address sanitizer twice as many again.
OPT_fuzz-fast := -O2 -g -fno-omit-frame-pointer -fsanitize=undefined -fsanitize-trap=undefined -fsanitize=fuzzer-no-link -fno-sanitize-coverage=trace-cmp
OPT_fuzz-checked := $(OPT_fuzz-fast) -fsanitize=address
OPT := $(or $(OPT_$(VARIANT)),$(error VARIANT=$(VARIANT): valid are release, debug, san, tsan, cov, fuzz, fuzz-checked, fuzz-fast))
# Every build rounds in the same way, with and without fused multiply-add in the instruction set: the loops of one set are tested
# against those of another bit for bit.
OPT += -ffp-contract=off
OPT += $(if $(and $(filter 1,$(NATIVE)),$(filter release,$(VARIANT))),-march=native)

# A room is included as "room/file.h", whatever its wing (src/LAYERS).
WINGS := common coupon mechanics result study bench cli
CPPFLAGS := -Iinclude $(WINGS:%=-Isrc/%) -D_GNU_SOURCE -DSP_FLAGS='"$(CC) $(strip $(OPT))"' -isystem /usr/include/suitesparse -isystem /usr/include/libxml2
# The same objects make the archive and the shared library, which exports only what the public headers declare.
FENCE := -fPIC -fvisibility=hidden -fno-semantic-interposition
CFLAGS := -std=c17 $(WARN) $(OPT) $(FENCE) -fopenmp
LDLIBS := -lcholmod -lopenblas -lyaml -lqhull_r -ljansson -lsqlite3 -lnlopt -lgeos_c -lm
LDFLAGS := $(if $(filter san fuzz,$(VARIANT)),-fsanitize=address$(comma)undefined) $(if $(filter fuzz-checked,$(VARIANT)),-fsanitize=address) $(if $(filter tsan,$(VARIANT)),-fsanitize=thread) $(if $(filter cov,$(VARIANT)),--coverage) -fopenmp

LIB_SRC := $(filter-out src/cli/%,$(wildcard src/*/*/*.c))
CLI_SRC := $(wildcard src/cli/*/*.c)
# The longest tests run first, so that none of them runs alone at the end.
LONG_TESTS := $(patsubst %,tests/test_%.c,resolve every_cell every_pattern coupons relations rules friction turned press figures unload lattice network spatial_beam spatial_network pictures pattern ring state)
TEST_SRC := $(LONG_TESTS) $(filter-out $(LONG_TESTS),$(wildcard tests/test_*.c))
SUPPORT_SRC := $(filter-out $(TEST_SRC),$(wildcard tests/*.c))
FUZZ_SRC := $(wildcard tests/fuzz/fuzz_*.c)
DEMO := $(filter-out %-plan.yaml %-target.yaml %-tested.yaml,$(wildcard docs/demo/*.yaml))
C_FILES := $(wildcard include/strutpress/*.h src/*/*/*.[ch] tests/*.[ch] tests/fuzz/*.[ch] tests/faults/*.c docs/*.c benchmarks/*/*.[ch] .ci/*.h)
obj = $(patsubst %.c,$(BUILD)/%.o,$(1))
TESTS := $(patsubst tests/%.c,$(BUILD)/tests/%,$(TEST_SRC))
FUZZERS := $(patsubst tests/fuzz/%.c,$(BUILD)/fuzz/%,$(FUZZ_SRC))
LIB := $(BUILD)/libstrutpress.a
SHARED := $(BUILD)/libstrutpress.so

# valgrind is some 30 times slower than the machine. It runs only tests that do not press a coupon and take less than seconds; all
# tests run under the sanitizers.
VALGRIND_TESTS ?= $(filter-out $(addprefix $(BUILD)/tests/,$(SLOW_TESTS)),$(TESTS))
SLOW_TESTS := test_bench test_spatial_beam test_ring test_mesh_file test_places test_texts test_pattern test_frames test_pictures test_beam test_panel test_fronts test_printing test_material test_network test_spatial_network test_joints $(patsubst tests/%.c,%,$(shell grep -lE 'sp_run|sp_result_press|press_whole|sp_batch|sp_press|sp_calibrate|sp_equilibrium|to_the_end|relation_press' /dev/null $(TEST_SRC)))

all: $(BUILD)/strutpress $(LIB) $(SHARED) ## build the program and the library

# ---- build ------------------------------------------------------------------------------------------------------
# All is recompiled when compiler or flags change; -Werror does not count, because it changes no object.
FLAGS_TEXT := $(filter-out -Werror,$(CC) $(CPPFLAGS) $(CFLAGS) $(LDFLAGS))
ifneq ($(file <$(BUILD)/flags),$(FLAGS_TEXT))
$(shell mkdir -p $(BUILD))
$(file >$(BUILD)/flags,$(FLAGS_TEXT))
endif

$(BUILD)/%.o: %.c $(BUILD)/flags
	@mkdir -p $(@D)
	$(if $(Q),@echo "  CC $<")
	$(Q)$(CC) $(CPPFLAGS) $(CFLAGS) -MMD -MP -c $< -o $@

$(BUILD)/flags:

# The page is taken into the program as it stands (.incbin).
$(BUILD)/src/study/report/parts.o: $(wildcard src/study/report/page/* src/study/report/page/uplot/*)

$(BUILD)/src/bench/server/page.o: $(wildcard src/bench/page/* src/bench/places/*)

$(BUILD)/src/cli/command/start.o: $(wildcard src/cli/command/start/*)
$(BUILD)/src/coupon/filament/filament.o: $(wildcard src/coupon/filament/*.yaml)

$(LIB): $(call obj,$(LIB_SRC))
	$(Q)rm -f $@ && ar rcs $@ $^

# Undefined names are refused where no sanitizer leaves some to the program.
$(BUILD)/$(SONAME): $(call obj,$(LIB_SRC)) src/exports.map
	$(if $(Q),@echo "  LD $@")
	$(Q)$(CC) -shared $(LDFLAGS) $(if $(filter release debug,$(VARIANT)),-Wl$(comma)-z$(comma)defs) \
	  -Wl,-soname,$(SONAME) -Wl,--version-script=src/exports.map -o $@ $(call obj,$(LIB_SRC)) $(LDLIBS)

$(SHARED): $(BUILD)/$(SONAME)
	$(Q)ln -sf $(SONAME) $@

$(BUILD)/strutpress: $(call obj,$(CLI_SRC)) $(LIB)
	$(if $(Q),@echo "  LD $@")
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ $(LDLIBS)

$(BUILD)/tests/%: $(BUILD)/tests/%.o $(call obj,$(SUPPORT_SRC)) $(LIB)
	$(if $(Q),@echo "  LD $@")
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ -lcmocka $(LDLIBS)

# test_fence reads the names of both libraries.
$(BUILD)/tests/test_fence: | $(SHARED)

# A C++ program of the public headers, with the shared library.
$(BUILD)/client_cpp: tests/client/press.cpp $(wildcard include/strutpress/*.h) $(SHARED)
	$(if $(Q),@echo "  CXX $<")
	$(Q)$(CXX) -std=c++17 -Wall -Wextra -Wpedantic -Werror -Iinclude $(OPT) $(LDFLAGS) -o $@ $< -L$(BUILD) -lstrutpress '-Wl,-rpath,$$ORIGIN'

# This library is loaded before the C library: it makes calls that touch files fail, or kills the program at them.
$(BUILD)/fail_call.so: tests/faults/fail_call.c $(BUILD)/flags
	$(Q)gcc -std=c17 -D_GNU_SOURCE $(WARN) -O1 -fPIC -shared -o $@ $< -ldl

$(BUILD)/fuzz/%: $(BUILD)/tests/fuzz/%.o $(LIB)
	@mkdir -p $(@D)
	$(Q)$(CC) $(LDFLAGS) -fsanitize=fuzzer -o $@ $^ $(LDLIBS) -lz

# docs/example_press.c and benchmarks/speed/bench_press.c: programs that use the public headers only.
$(BUILD)/example_press: $(BUILD)/docs/example_press.o $(LIB)
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ $(LDLIBS)

$(BUILD)/versus: $(BUILD)/benchmarks/speed/versus.o $(LIB)
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ $(LDLIBS)

$(BUILD)/bench_press: $(BUILD)/benchmarks/speed/bench_press.o $(LIB)
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ $(LDLIBS)

# measured draws with the plot of compare and reads curves as the tests do.
$(BUILD)/measured: $(BUILD)/benchmarks/physics/measured.o $(BUILD)/tests/measured_curve.o $(LIB)
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ $(LDLIBS)

$(BUILD)/bench_cells: $(BUILD)/benchmarks/speed/bench_cells.o $(LIB)
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ $(LDLIBS)

$(BUILD)/soak: $(BUILD)/benchmarks/physics/soak.o $(LIB)
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ $(LDLIBS)

$(BUILD)/forecast: $(BUILD)/benchmarks/speed/forecast.o $(LIB)
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ $(LDLIBS)

$(BUILD)/left: $(BUILD)/benchmarks/speed/left.o $(LIB)
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ $(LDLIBS)

$(BUILD)/survey: $(BUILD)/benchmarks/physics/survey.o $(LIB)
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ $(LDLIBS)

# joints takes its cells from the tests.
$(BUILD)/joints: $(BUILD)/benchmarks/physics/joints.o $(BUILD)/benchmarks/physics/solid_cell.o $(BUILD)/tests/strut_cell.o $(LIB)
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ $(LDLIBS)

$(BUILD)/round_kernel: $(BUILD)/benchmarks/physics/round_kernel.o $(LIB)
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ $(LDLIBS)

# The calls of the batch on the store go through the clock of the benchmark.
$(BUILD)/bench_batch: $(BUILD)/benchmarks/speed/bench_batch.o $(LIB)
	$(Q)$(CC) $(LDFLAGS) $(patsubst %,-Wl$(comma)--wrap=sp_%,store_put store_has coupon_key_of) -o $@ $^ $(LDLIBS)

# ---- install what is missing, run the demo ----------------------------------------------------------------------
deps: ## install the Debian packages that are missing (sudo when not root)
	$(Q).ci/deps $(PACKAGES)

demo: ## install what the build needs, build, press the coupons of docs/demo, choose a foot, calibrate, say where the pictures are
	$(Q).ci/deps $(PACKAGES_BUILD)
	$(SUB) all
	$(SUB) run-demo
	$(SUB) run-choice
	$(SUB) run-calibration
	$(SUB) run-printed
	$(SUB) run-places

# The table of each coupon is kept beside its files.
run-demo: $(BUILD)/strutpress
	@mkdir -p $(OUT); failed=0; for c in $(DEMO); do n=$$(basename $$c .yaml); set -o pipefail; \
	  echo "== strutpress press $$c --out $(OUT)/$$n"; mkdir -p $(OUT)/$$n; \
	  $(BUILD)/strutpress press $$c --out $(OUT)/$$n | tee $(OUT)/$$n/table.txt || failed=1; done; exit $$failed

# This goes from a question to a page and case files: which foot carries the microscope with the least filament?
CHOICE := $(OUT)/choose-foot
run-choice: $(BUILD)/strutpress
	@mkdir -p $(CHOICE); set -e -o pipefail; run() { echo "== strutpress $$*"; $(BUILD)/strutpress "$$@"; }; \
	run batch docs/demo/choose-foot-plan.yaml --store $(CHOICE)/plan.store; \
	run compare $(CHOICE)/plan.store --out $(CHOICE) | tee $(CHOICE)/compare.txt; \
	run seek docs/demo/choose-foot-target.yaml --store $(CHOICE)/target.store --out $(CHOICE)/answer | tee $(CHOICE)/answer.txt; \
	run report $(CHOICE)/plan.store --out $(CHOICE)/report.html \
	  --question "Which pattern gives a soft, even plateau for the least filament?"

# Calibrate: from tested coupons to values of a case and predictions.
FEET := $(OUT)/feet-tested
run-calibration: $(BUILD)/strutpress
	@mkdir -p $(FEET); set -e -o pipefail; echo "== strutpress calibrate docs/demo/feet-tested.yaml"; \
	$(BUILD)/strutpress calibrate docs/demo/feet-tested.yaml --store $(FEET)/presses.store --out $(FEET) | tee $(FEET)/table.txt

# Write a design for a printer and press it as it would be printed.
run-printed: $(BUILD)/strutpress
	@echo "== docs/demo/as-printed.sh"; docs/demo/as-printed.sh $(abspath $<) $(OUT)/as-printed

# The last lines of the demo, where everything is, are kept for readme-check.
run-places:
	@{ echo; echo "The demo is done. Pictures (.svg) open in any browser, press.pvd in any VTK reader:"; \
	for n in $(patsubst docs/demo/%.yaml,%,$(DEMO)) $(notdir $(CHOICE) $(FEET)); do \
	  echo "  $(OUT)/$$n/:" $$(ls $(OUT)/$$n | grep -vE '^state_.*vtu$$|[.]store-(shm|wal)$$'); done; \
	echo "Begin with $(CHOICE)/report.html in a browser: many feet side by side, with curves and deformed states."; } | tee $(OUT)/places.txt

# ---- tests ------------------------------------------------------------------------------------------------------
test: ## install what is missing, build, run the tests of the library, of the program and of the example
	$(Q).ci/deps $(PACKAGES_BUILD) $(PACKAGES_TEST)
	$(SUB) build-tests
	$(Q)rm -f $(BUILD)/log/test_*.log $(BUILD)/log/total.log
	$(SUB) -k -Otarget run-tests; ran=$$?; set -o pipefail; \
	  { .ci/count $(BUILD)/log && [ $$ran = 0 ] && echo "every test passed; what each of them printed is in $(BUILD)/log" || \
	    { echo "not every test passed; what each of them printed is above and in $(BUILD)/log"; false; }; } | tee $(BUILD)/log/total.log

# Test programs run beside each other, one thread each; one log per program in $(BUILD)/log, shown whole when it ends.
# The command line and the faults, one process after another, begin first: at the end they would run alone.
# SKIP_TESTS="test_X test_Y" leaves tests out of a run.
RUN_TESTS := $(filter-out $(addprefix run-,$(SKIP_TESTS)),$(patsubst $(BUILD)/tests/%,run-%,$(TESTS)))
run-tests: run-cli run-faults $(RUN_TESTS) run-example run-client

$(RUN_TESTS): run-%: $(BUILD)/tests/% $(BUILD)/strutpress
	@mkdir -p $(BUILD)/log
	@echo "== $*"
	@set -o pipefail; TIMEFORMAT="== $* took %U s of processor time"; \
	  time { OMP_NUM_THREADS=1 $< 2>&1 | tee $(BUILD)/log/$*.log; }

run-cli: $(BUILD)/strutpress
	@mkdir -p $(BUILD)/log
	@if [ -f tests/cli/run.sh ]; then echo "== command line"; set -o pipefail; \
	  STRUTPRESS=$(abspath $<) bash tests/cli/run.sh $(abspath $<) 2>&1 | tee $(BUILD)/log/cli.log; fi

run-example: $(BUILD)/example_press
	@mkdir -p $(BUILD)/log
	@echo "== docs/example_press.c"
	@set -o pipefail; $< 2>&1 | tee $(BUILD)/log/example.log

run-client: $(BUILD)/client_cpp
	@mkdir -p $(BUILD)/log
	@echo "== tests/client/press.cpp"
	@set -o pipefail; $< 2>&1 | tee $(BUILD)/log/client.log

# Only the smallest set of files is tried here; `make fault-test` runs every command. A sanitizer refuses a library loaded before
# its own.
run-faults: $(BUILD)/strutpress $(BUILD)/fail_call.so
	@mkdir -p $(BUILD)/log
	@if [ $(VARIANT) = release ]; then echo "== files under faults"; set -o pipefail; \
	  tests/faults/run.sh $^ check 2>&1 | tee $(BUILD)/log/faults.log; fi

.PHONY: fault-test
fault-test: $(BUILD)/strutpress $(BUILD)/fail_call.so ## fail and kill every command that writes files at each of its calls (10 minutes)
	$(Q)tests/faults/run.sh $^

.PHONY: memory-test
memory-test: $(BUILD)/strutpress ## run every command under limits on address space of 100 MB to 2 GB
	$(Q)tests/faults/memory.sh $<

# With STRUTPRESS_QUICK every test runs, but the longest with fewer seeds and shorter presses (coupon_quick in tests/coupon.h).
sanitize: ## run the tests with fewer repeats under AddressSanitizer and UndefinedBehaviorSanitizer
	$(SUB) VARIANT=san BUILD=build/san build-tests
	$(SUB) VARIANT=san BUILD=build/san STRUTPRESS_QUICK=1 -k -Otarget run-tests

# The tests named here press whole coupons again and again, and take most of the time; 97.6 % of the lines are run without them.
# tests/uncovered.txt says why a file has many lines that no test runs.
COVERAGE_SKIP ?= test_relations test_rules test_every_pattern test_every_cell test_coupons test_figures test_lattice
coverage: ## run the tests with fewer repeats and print the share of lines of src/ that they run (20 minutes on an idle machine)
	$(SUB) VARIANT=cov BUILD=build/cov all
	$(Q)find build/cov -name '*.gcda' -delete
	-$(SUB) VARIANT=cov BUILD=build/cov STRUTPRESS_QUICK=1 SKIP_TESTS="$(COVERAGE_SKIP)" -k -Otarget run-tests
	$(Q).ci/coverage build/cov tests/uncovered.txt

# This needs clang: its OpenMP library tells ThreadSanitizer through Archer where threads wait for each other; that of gcc does not. Libraries
# that are not built for it (SuiteSparse, OpenBLAS, SQLite) are left out.
THREAD_TESTS ?= $(patsubst tests/test_%.c,%,$(TEST_SRC))
RUN_THREADS := $(addprefix threads-,$(THREAD_TESTS))
.PHONY: thread-sanitize $(RUN_THREADS)
thread-sanitize: ## run the tests with fewer repeats under ThreadSanitizer (clang, an hour); THREAD_TESTS="batch report" names some
	$(SUB) VARIANT=tsan BUILD=build/tsan CC=$(CLANG) -k -Otarget $(RUN_THREADS)

# Archer of LLVM 14 crashes (in __kmpc_end_critical) in a process that has forked; this test forks a bench.
threads-bench: export OMP_TOOL = disabled

.PHONY: thread-check
thread-check: ## run short presses on several threads under ThreadSanitizer: seeds of a press, batch, report, bench
	$(SUB) thread-sanitize THREAD_TESTS="parallel threads" THREADS=4

$(RUN_THREADS): threads-%: $(BUILD)/tests/test_% $(BUILD)/strutpress
	@mkdir -p $(BUILD)/log
	@echo "== threads of $*"
	@set -o pipefail; STRUTPRESS_QUICK=1 OMP_NUM_THREADS=$(or $(THREADS),2) ARCHER_OPTIONS=enable=1 \
	  TSAN_OPTIONS="ignore_noninstrumented_modules=1 exitcode=66" $< 2>&1 | tee $(BUILD)/log/threads_$*.log

build-tests: $(TESTS) $(BUILD)/strutpress $(BUILD)/example_press $(BUILD)/client_cpp

valgrind: ## run the fast tests with fewer repeats under valgrind (VARIANT=debug BUILD=build/debug prints line numbers)
	$(SUB) build-tests
	$(SUB) STRUTPRESS_QUICK=1 -k -Otarget run-valgrind

RUN_VALGRIND := $(patsubst $(BUILD)/tests/%,valgrind-%,$(VALGRIND_TESTS))
run-valgrind: $(RUN_VALGRIND)

$(RUN_VALGRIND): valgrind-%: $(BUILD)/tests/%
	@mkdir -p $(BUILD)/log
	@echo "== valgrind $*"
	@set -o pipefail; OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 valgrind -q --error-exitcode=99 --leak-check=full \
	  --errors-for-leak-kinds=definite $< 2>&1 | tee $(BUILD)/log/valgrind_$*.log

.PHONY: fuzz-long
fuzz-long: ## run libFuzzer on the readers for MINUTES (10) of all targets together, FUZZ_JOBS at once (one per core), and add a row to benchmarks/fuzz.csv
	$(SUB) VARIANT=fuzz-checked BUILD=build/fuzz-checked CC=$(CLANG) build-fuzz
	$(SUB) VARIANT=fuzz-fast BUILD=build/fuzz-fast CC=$(CLANG) build-fuzz
	$(Q)tests/fuzz/long.sh build/fuzz-checked/fuzz build/fuzz-fast/fuzz build/fuzz-corpus $(or $(MINUTES),10) benchmarks/fuzz.csv

fuzz: ## run libFuzzer on the readers, FUZZ_SECONDS each (clang)
	$(SUB) VARIANT=fuzz BUILD=build/fuzz CC=$(CLANG) build-fuzz
	$(SUB) VARIANT=fuzz BUILD=build/fuzz CC=$(CLANG) -k -Otarget run-fuzz

build-fuzz: $(FUZZERS)

# Inputs to begin with come from tests/fuzz/corpus/<name>, words from tests/fuzz/<name>.dict or, for the readers of YAML, yaml.dict.
# Inputs that a run finds stay in build/.
FUZZ_WORDS = $(patsubst %,-dict=%,$(if $(filter case plan target tested,$(1)),tests/fuzz/yaml.dict,$(wildcard tests/fuzz/$(1).dict)))
RUN_FUZZ := $(patsubst $(BUILD)/fuzz/%,run-%,$(FUZZERS))
run-fuzz: $(RUN_FUZZ)

$(RUN_FUZZ): run-fuzz_%: $(BUILD)/fuzz/fuzz_%
	@mkdir -p $(BUILD)/log $(BUILD)/found/$*
	@log=$(BUILD)/log/fuzz_$*.log; \
	$< -max_total_time=$(FUZZ_SECONDS) -max_len=4096 -timeout=10 -rss_limit_mb=4096 -print_final_stats=1 \
	  $(call FUZZ_WORDS,$*) -artifact_prefix=$(BUILD)/found/$*- $(BUILD)/found/$* $(wildcard tests/fuzz/corpus/$*) > $$log 2>&1 \
	  || { tail -n 60 $$log; echo "fuzz $*: FAILED, input kept as $(BUILD)/found/$*-*"; exit 1; }; \
	echo "fuzz $*: $$(sed -n 's/^stat::number_of_executed_units: *//p' $$log) inputs in $(FUZZ_SECONDS) s, nothing found"

# This runs the analyser of gcc, which follows paths through functions and takes 45 s on two cores; that of clang takes four times as
# long. Its warnings of values that were never set are wrong in gcc 12 where a loop sets them; valgrind and both compilers find those.
ANALYSED := $(patsubst %.c,build/analyse/%.seen,$(LIB_SRC) $(CLI_SRC))
analyse: ## look for paths to lost memory, freed memory, null pointers and the like (gcc -fanalyzer)
	$(SUB) -k $(ANALYSED)
	@echo "analyse: $(words $(ANALYSED)) files, nothing found"

build/analyse/%.seen: %.c
	@mkdir -p $(@D)
	$(Q)gcc $(CPPFLAGS) -std=c17 -fopenmp -O1 -fanalyzer -Wno-analyzer-use-of-uninitialized-value $(if $(filter %/context.c,$<),,-include .ci/analyse.h) -Werror -MMD -MP -MF $(@:.seen=.d) -MT $@ -c $< -o /dev/null && touch $@

# compile_commands.json tells an editor or a checker how each C file is compiled; no other tool is needed to write it.
SOURCES := $(LIB_SRC) $(CLI_SRC) $(TEST_SRC) $(SUPPORT_SRC) $(FUZZ_SRC) $(wildcard tests/faults/*.c benchmarks/*/*.c docs/*.c)
json = $(subst ",\",$(subst \,\\,$(1)))
compiled = {"directory": "$(CURDIR)"$(comma) "file": "$(1)"$(comma) "command": "$(call json,$(CC) $(CPPFLAGS) $(strip $(CFLAGS)) -c $(1) -o $(call obj,$(1)))"}
compile-commands: ## write compile_commands.json, which tells editors and checkers how each file is compiled
	$(Q)$(file >compile_commands.json.tmp,[)$(foreach f,$(filter-out $(lastword $(SOURCES)),$(SOURCES)),$(file >>compile_commands.json.tmp,$(call compiled,$(f))$(comma)))$(file >>compile_commands.json.tmp,$(call compiled,$(lastword $(SOURCES))))$(file >>compile_commands.json.tmp,])
	$(Q)mv compile_commands.json.tmp compile_commands.json && echo "compile_commands.json: $(words $(SOURCES)) files"

# ---- checks -----------------------------------------------------------------------------------------------------
layers: ## check the includes of every room against src/LAYERS, and that no room holds more than a dozen files
	$(Q).ci/layers

links: ## check that the relative links of every page lead somewhere
	$(Q).ci/links

equations: ## check that the code cites every equation of docs/theory.md, and only those, and that its table has every symbol once
	$(Q).ci/equations
	$(Q).ci/symbols

format: ## write every C file in the project's format
	$(Q)$(CLANG_FORMAT) -i $(C_FILES)

format-check: ## fail when a C file is not in the project's format
	$(Q)$(CLANG_FORMAT) --dry-run --Werror $(C_FILES) && echo "format: $(words $(C_FILES)) files in order"

docs: $(BUILD)/strutpress ## write docs/reference.md from the parameter, pattern, law, measure and writer rows
	$(Q)$(BUILD)/strutpress list reference > docs/reference.md.tmp && mv docs/reference.md.tmp docs/reference.md

docs-check: $(BUILD)/strutpress ## fail when docs/reference.md is not what `make docs` writes
	$(Q)$(BUILD)/strutpress list reference | diff -u docs/reference.md - && echo "docs/reference.md is up to date"

PICTURES := foot-soft kelvin-pad
pictures: run-demo run-choice run-calibration ## press the demo and copy the pictures that README.md shows to docs/images
	$(SUB) run-places
	$(Q)mkdir -p docs/images
	$(Q)for n in $(PICTURES); do cp $(OUT)/$$n/states.svg docs/images/$$n-states.svg || exit 1; done
	$(Q)cp $(FEET)/curves.svg docs/images/feet-tested-curves.svg

PYTHON_ENVIRONMENT = STRUTPRESS=$(abspath $(BUILD))/strutpress STRUTPRESS_LIBRARY=$(abspath $(BUILD))/libstrutpress.so PYTHONPATH=src/python PYTHONDONTWRITEBYTECODE=1
python-test: $(BUILD)/strutpress $(SHARED) ## install what is missing, test the Python package against the program
	$(Q).ci/deps $(PACKAGES_PYTHON)
	$(Q)$(PYTHON_ENVIRONMENT) /usr/bin/python3 -m unittest discover -s tests/python

python-demo: $(BUILD)/strutpress $(SHARED) ## the same for docs/demo/feet.py, which draws with matplotlib into OUT
	$(Q).ci/deps $(PACKAGES_PYTHON) python3-matplotlib
	@mkdir -p $(OUT)/feet
	$(Q)$(PYTHON_ENVIRONMENT) /usr/bin/python3 docs/demo/feet.py $(OUT)/feet

print-check: $(BUILD)/strutpress ## install what is missing, read files for printers with the reference library of 3MF in strict mode and with admesh
	$(Q).ci/deps $(PACKAGES_PRINT)
	$(Q)tests/print/check.sh $(abspath $<) $(BUILD)

readme-check: ## fail when README.md shows lines that the demo in OUT or the tests did not print
	$(Q)for n in $(PICTURES) $(notdir $(FEET)); do OUT=$(OUT) .ci/shown $$n $(OUT)/$$n/table.txt || exit 1; done
	$(Q)OUT=$(OUT) .ci/shown demo $(OUT)/places.txt
	$(Q).ci/shown test $(BUILD)/log/*.log
	$(Q)grep -q '^> Strutpress $(VERSION): ' README.md || { echo "README.md: \"How to cite\" names another version than $(VERSION)"; false; }

verify: build-tests ## run the tests against published values, put their largest errors into README.md
	$(Q)benchmarks/physics/verify.sh $(BUILD)/tests

.PHONY: fitted
fitted: $(BUILD)/strutpress ## fit two blocks of open data, predict with them, and write the tables of docs/measured.md (15 minutes)
	$(Q)benchmarks/physics/fitted.sh $<

.PHONY: measured
measured: $(BUILD)/measured ## press the block of tests/data/beam_lattices and draw it with its specimens (5 minutes)
	$(Q)mkdir -p $(OUT)/measured docs/images
	$(Q)$< tests/data/beam_lattices $(abspath $(OUT)/measured)
	$(Q)cp $(OUT)/measured/curves.svg docs/images/measured-body-centred.svg
	$(Q)benchmarks/fill.sh measured $(OUT)/measured/table.md docs/measured.md

.PHONY: kill-test
kill-test: $(BUILD)/tests/test_batch ## kill a batch at BATCH_KILLS (50) random moments and resume it
	$(Q)BATCH_KILLS=$(or $(BATCH_KILLS),50) $<

.PHONY: browser-test
browser-test: ## install what is missing, look at a report page and at the bench in Chromium: sliders, sorting, keyboard, widths, print
	$(Q).ci/deps $(PACKAGES_BUILD) $(PACKAGES_BROWSER)
	$(SUB) all
	$(Q)tests/browser/run.sh $(BUILD)/strutpress build/browser

.PHONY: bench-page-test bench-picture
bench-page-test: ## test the bench alone in Chromium; V=1 prints times, SHOTS=1 keeps screenshots of every view in build/browser
	$(Q).ci/deps $(PACKAGES_BUILD) $(PACKAGES_BROWSER)
	$(SUB) all
	$(Q)tests/browser/run.sh $(BUILD)/strutpress build/browser bench

bench-picture: ## write the picture of the bench, docs/images/bench.png
	$(Q).ci/deps $(PACKAGES_BUILD) $(PACKAGES_BROWSER)
	$(SUB) all
	$(Q)tests/browser/run.sh $(BUILD)/strutpress build/browser bench docs/images/bench.png

.PHONY: uplot
uplot: ## fetch the pinned chart library again and compare its checksum
	$(Q)folder=$$(mktemp -d) && trap 'rm -rf '$$folder EXIT && cd $$folder && \
	  npm pack --silent uplot@$(UPLOT_VERSION) > /dev/null && \
	  echo "$(UPLOT_SHA256)  uplot-$(UPLOT_VERSION).tgz" | sha256sum --check --quiet && tar xzf uplot-$(UPLOT_VERSION).tgz && \
	  cp package/dist/uPlot.iife.min.js package/dist/uPlot.min.css package/LICENSE $(CURDIR)/src/study/report/page/uplot/ && \
	  echo "src/study/report/page/uplot: uplot $(UPLOT_VERSION)"

.PHONY: cluster-test
cluster-test: $(BUILD)/strutpress ## run the job array of docs/cluster.md on this machine, kill one task and run it again (root)
	$(Q).ci/deps $(PACKAGES_CLUSTER)
	$(Q)tests/cluster/run.sh $< build/cluster

.PHONY: blocks
BLOCKS := benchmarks/physics/blocks-plan.yaml
BLOCKS_CSV := benchmarks/physics/blocks.csv
blocks: $(BUILD)/strutpress ## press 66 blocks of 4 x 4 x 4 cells to 60 % and write benchmarks/physics/blocks.csv (an hour or more; goes on where it was)
	$(Q).ci/deps $(PACKAGES_BLOCKS)
	$(Q)benchmarks/physics/blocks.sh $< $(BLOCKS) $(OUT)/blocks.store $(BLOCKS_CSV)

friction: $(BUILD)/strutpress ## press two demo coupons with friction and write benchmarks/physics/friction.csv
	$(Q)benchmarks/physics/friction.sh $<

branches: $(BUILD)/strutpress ## look for other stable states in planar coupons, a Kelvin block and the measured block (5 minutes): benchmarks/physics/branches.csv, docs/theory.md
	$(Q)benchmarks/physics/branches.sh $<

.PHONY: rules
rules: ## build programs with other constants of E12, press two demo coupons with each (10 minutes): benchmarks/physics/rules.csv
	$(Q)benchmarks/physics/rules.sh build/rules

width: $(BUILD)/strutpress ## compare the band of the printed width with narrower and wider presses (a minute): benchmarks/physics/width.csv, docs/theory.md
	$(Q)benchmarks/physics/width.sh $<

.PHONY: width
mesh: $(BUILD)/strutpress ## press two demo coupons with finer meshes and write benchmarks/physics/mesh.csv
	$(Q)benchmarks/physics/mesh.sh $<

joints: $(BUILD)/joints ## compare joint bodies of solid elements with rigid zones (ten minutes): benchmarks/physics/joints.csv, docs/theory.md
	$(Q)benchmarks/physics/joints.sh $<

.PHONY: converge
converge: $(BUILD)/strutpress ## press four coupons with finer meshes, steps and points (five minutes) and write benchmarks/physics/convergence.csv
	$(Q)benchmarks/physics/convergence.sh $<

.PHONY: round-kernel
round-kernel: $(BUILD)/round_kernel ## fit the kernel of round struts in contact to its sources and write benchmarks/physics/round_kernel.csv
	$(Q)$< benchmarks/physics/round_kernel.csv

.PHONY: left left-judge
left: $(BUILD)/left $(BUILD)/soak ## record presses of random coupons (half an hour), and judge the time left that the program shows for them
	$(Q)benchmarks/speed/left.sh $(BUILD) benchmarks/speed/left.csv
left-judge: $(BUILD)/left ## judge the time left that the program shows for the recorded presses
	$(Q)$(BUILD)/left --judge benchmarks/speed/left.csv

.PHONY: forecast
forecast: $(BUILD)/forecast $(BUILD)/soak ## measure what presses of random coupons cost (15 min), fit the forecast of `check` to them
	$(Q)benchmarks/speed/forecast.sh $(BUILD) benchmarks/speed/forecast.csv src/result/run/forecast.h

.PHONY: protocols
protocols: $(BUILD)/strutpress ## press every pattern, hold, release and rest it for a day (8 min): benchmarks/physics/protocols.csv; fails where one does not come to its end
	$(Q)benchmarks/physics/protocols.sh $< benchmarks/physics/protocols.csv

.PHONY: told
told: $(BUILD)/strutpress $(BUILD)/soak ## compare what `check` foretells with what presses in time and of parts that lie flat take (15 min): benchmarks/speed/told.csv
	$(Q)benchmarks/speed/told.sh $(BUILD) benchmarks/speed/told.csv

.PHONY: soak
SOAK_CSV ?= benchmarks/soak.csv
soak: $(BUILD)/soak ## press N coupons drawn at random with SEED=S to their end, from FIRST or where SOAK_CSV ends (KIND=any|time|cycles|flat|dense); fails where one gives up
	$(Q)KIND="$(KIND)" benchmarks/physics/soak.sh $< "$(SOAK_CSV)" $(OUT)/soak $(or $(SEED),1) $(or $(N),1000) $(or $(STRUTS),1200) $(FIRST)

.PHONY: relations
relations: $(addprefix $(BUILD)/tests/test_,relations figures resolve) ## test every relation between presses and every key of every kind of case over all rows (half an hour), and run the survey
	$(SUB) -k -Otarget RELATIONS=all run-test_relations run-test_figures run-test_resolve survey

.PHONY: survey
survey: $(BUILD)/survey ## press 232 coupons to their critical step with five step widths; fails where it depends on them (5 minutes)
	$(Q)mkdir -p $(OUT)/survey
	$(Q)$< --csv $(OUT)/survey/critical.csv

.PHONY: bench-versus
bench-versus: $(BUILD)/versus ## measure this tree beside commit OLD in one run: benchmarks/speed/versus.csv, lines of README.md (hours)
	$(Q)benchmarks/speed/versus.sh $(or $(OLD),1b8475d) $(abspath $<)

.PHONY: same
same: $(BUILD)/strutpress ## compare figures and files of 64 cases bit for bit with those of another program: OLD=PROGRAM (ONLY="name ..." a few)
	$(Q)benchmarks/physics/same.sh "$(OLD)" $< $(BUILD)/same $(ONLY)

.PHONY: bench-outside
bench-outside: $(BUILD)/versus ## measure what a press of the 28 % coupon spends outside arithmetic (perf, strace)
	$(Q)benchmarks/speed/outside.sh $<

bench: $(BUILD)/bench_press ## measure speed and write benchmarks/speed/results.csv
	$(Q)benchmarks/speed/run.sh $(BUILD)/bench_press

.PHONY: bench-cells
bench-cells: $(BUILD)/bench_cells $(BUILD)/strutpress ## measure blocks of cells in space and write benchmarks/speed/cells.csv
	$(Q)benchmarks/speed/cells.sh $^

.PHONY: bench-path
bench-path: $(BUILD)/strutpress ## measure the seconds and the memory that `check` takes for a tool path of 200 MB (a minute)
	$(Q)benchmarks/speed/long-path.sh $<

.PHONY: bench-pads
bench-pads: $(BUILD)/strutpress ## press reference pads along their walls (PADS="square/20/8/1/0/30", SEEDS=1) and add rows to benchmarks/speed/pads.csv
	$(Q)benchmarks/speed/pads.sh $< benchmarks/speed/pads.csv $(PADS)

.PHONY: bench-batch
bench-batch: $(BUILD)/bench_batch ## measure the batch (BENCH_ROUNDS=3) and write benchmarks/speed/batch.csv
	$(Q)benchmarks/speed/batch.sh $< $(or $(BENCH_ROUNDS),3)

# ---- install ----------------------------------------------------------------------------------------------------
AT = $(DESTDIR)$(PREFIX)
# These are the pages and the files to which they link, laid out as here so that the links work, and the demo coupons with their drawings
# and curves.
DOC_FILES := benchmarks/physics/pa12-tested.yaml benchmarks/physics/resin-tested.yaml LICENSE README.md DEVELOPERS.md src/LAYERS src/study/report/parts.c src/study/report/page/uplot/README.md src/study/report/page/uplot/LICENSE \
  $(filter-out docs/strutpress.1 docs/strutpress.pc.in,$(shell find docs meshes tests/data -type f)) \
  tests/uncovered.txt .ci/analyse.h $(wildcard benchmarks/*.md benchmarks/*.csv benchmarks/*/*.csv benchmarks/*/*.rows)
# The folder in which Debian's Python looks for packages below this prefix.
PYTHON_DIR ?= lib/$(if $(filter /usr,$(PREFIX)),python3,$(or $(shell /usr/bin/python3 -c 'import sys; print("python%d.%d" % sys.version_info[:2])' 2>/dev/null),python3))/dist-packages/strutpress
PYTHON_FILES := $(wildcard src/python/strutpress/*.py) src/python/strutpress/py.typed
COMPLETIONS := share/bash-completion/completions/strutpress share/zsh/site-functions/_strutpress

install: all ## install to PREFIX (/usr/local), below DESTDIR when given
	$(Q)install -d $(AT)/bin $(AT)/lib/pkgconfig $(AT)/include/strutpress $(AT)/share/man/man1 $(AT)/share/doc/strutpress
	$(Q)install -m 755 $(BUILD)/strutpress $(AT)/bin/strutpress
	$(Q)install -m 644 $(LIB) $(AT)/lib/libstrutpress.a
	$(Q)install -m 755 $(BUILD)/$(SONAME) $(AT)/lib/$(SONAME)
	$(Q)ln -sf $(SONAME) $(AT)/lib/libstrutpress.so
	$(Q)install -m 644 include/strutpress/*.h $(AT)/include/strutpress/
	$(Q)sed -e 's|@PREFIX@|$(PREFIX)|' -e 's|@VERSION@|$(VERSION)|' docs/strutpress.pc.in > $(AT)/lib/pkgconfig/strutpress.pc
	$(Q)install -m 644 docs/strutpress.1 $(AT)/share/man/man1/strutpress.1
	$(Q)install -d $(AT)/$(PYTHON_DIR) && install -m 644 $(PYTHON_FILES) $(AT)/$(PYTHON_DIR)/
	$(Q)for f in $(COMPLETIONS); do install -d $(AT)/$$(dirname $$f); done
	$(Q)$(BUILD)/strutpress list completion-bash > $(AT)/$(word 1,$(COMPLETIONS))
	$(Q)$(BUILD)/strutpress list completion-zsh > $(AT)/$(word 2,$(COMPLETIONS))
	$(Q)for f in $(DOC_FILES); do install -D -m 644 $$f $(AT)/share/doc/strutpress/$$f || exit 1; done

uninstall: ## remove what install wrote
	$(Q)rm -f $(AT)/bin/strutpress $(AT)/lib/libstrutpress.a $(AT)/lib/$(SONAME) $(AT)/lib/libstrutpress.so $(AT)/lib/pkgconfig/strutpress.pc $(AT)/share/man/man1/strutpress.1
	$(Q)rm -f $(addprefix $(AT)/,$(COMPLETIONS))
	$(Q)rm -rf $(AT)/include/strutpress $(AT)/share/doc/strutpress $(AT)/$(PYTHON_DIR)

help: ## list the targets
	@echo "usage: make [target] [VARIANT=release|debug|san|tsan|cov|fuzz] [DEV=1] [V=1]"
	@sed -n 's/^\([a-z-]*\):.*## \(.*\)/\1\t\2/p' $(firstword $(MAKEFILE_LIST)) | awk -F'\t' '{printf "  %-16s %s\n", $$1, $$2}'

clean: ## remove build/ and out/
	$(Q)rm -rf build out

.PHONY: all deps demo run-demo run-choice run-calibration run-printed run-places test run-tests $(RUN_TESTS) run-cli run-example run-client run-faults sanitize build-tests valgrind run-valgrind \
	$(RUN_VALGRIND) fuzz build-fuzz run-fuzz $(RUN_FUZZ) layers links equations format format-check compile-commands analyse coverage docs docs-check pictures readme-check verify mesh friction joints bench install uninstall help clean
.SECONDARY:
.DELETE_ON_ERROR:
-include $(shell find $(BUILD) build/analyse -name '*.d' 2>/dev/null)
