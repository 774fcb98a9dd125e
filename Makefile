# Strutpress: one Makefile. `make help` lists the targets. VARIANT=release|debug|san|cov builds into build/$(VARIANT).
VERSION := 0.1.0
VARIANT ?= release
CC ?= gcc
V ?= 0
BUILD := build/$(VARIANT)
Q := $(if $(filter 1,$(V)),,@)

WARN := -Wall -Wextra -Wpedantic -Wconversion -Wshadow -Wmissing-prototypes -Werror
OPT_release := -O3 -march=native -fno-math-errno -fno-trapping-math
OPT_debug := -O0 -g3
OPT_san := -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all
OPT_cov := -O0 -g --coverage
CPPFLAGS := -Iinclude -Isrc -D_GNU_SOURCE -DSP_VERSION='"$(VERSION)"' -DSP_FLAGS='"$(CC) $(OPT_$(VARIANT))"' -isystem /usr/include/suitesparse
CFLAGS := -std=c17 $(WARN) $(OPT_$(VARIANT)) -fopenmp
LDLIBS := -lcholmod -lopenblas -lyaml -lqhull_r -lm
LDFLAGS := $(if $(filter san,$(VARIANT)),-fsanitize=address$(comma)undefined) $(if $(filter cov,$(VARIANT)),--coverage) -fopenmp
comma := ,

LIB_SRC := $(filter-out src/cli/%,$(wildcard src/*/*.c))
CLI_SRC := $(wildcard src/cli/*.c)
TEST_SRC := $(wildcard tests/test_*.c)
SUPPORT_SRC := $(filter-out $(TEST_SRC),$(wildcard tests/*.c))
obj = $(patsubst %.c,$(BUILD)/%.o,$(1))
TESTS := $(patsubst tests/%.c,$(BUILD)/tests/%,$(TEST_SRC))

all: $(BUILD)/strutpress ## build the program and the library

$(BUILD)/%.o: %.c
	@mkdir -p $(@D)
	$(if $(Q),@echo "  CC $<")
	$(Q)$(CC) $(CPPFLAGS) $(CFLAGS) -MMD -MP -c $< -o $@

$(BUILD)/libstrutpress.a: $(call obj,$(LIB_SRC))
	$(Q)rm -f $@ && ar rcs $@ $^

$(BUILD)/strutpress: $(call obj,$(CLI_SRC)) $(BUILD)/libstrutpress.a
	$(if $(Q),@echo "  LD $@")
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ $(LDLIBS)

$(BUILD)/tests/%: $(BUILD)/tests/%.o $(call obj,$(SUPPORT_SRC)) $(BUILD)/libstrutpress.a
	$(Q)$(CC) $(LDFLAGS) -o $@ $^ -lcmocka $(LDLIBS)

test: $(TESTS) $(BUILD)/strutpress ## run the tests
	$(Q)fail=0; for t in $(TESTS); do $$t || fail=1; done; exit $$fail

help: ## list the targets
	@sed -n 's/^\([a-z-]*\):.*## \(.*\)/  \1  \2/p' $(MAKEFILE_LIST)

clean: ## remove build/
	$(Q)rm -rf build

.PHONY: all test help clean
.SECONDARY:
-include $(shell find build -name '*.d' 2>/dev/null)
