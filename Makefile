# Quadrille.  `make help` lists the targets.
# SPDX-License-Identifier: MIT

B        ?= build
CC       ?= cc
PREFIX   ?= /usr/local
SANITIZE ?=
VERSION   = 0.1.0
Q         = $(if $(V),,@)
WARN      = -Wall -Wextra -Werror -Wshadow -Wconversion -Wstrict-prototypes -Wmissing-prototypes \
            -Wvla -Wformat=2 -Wundef -Wpointer-arith -Wcast-qual -Wwrite-strings
OPT      ?= -O2 -g
SAN       = $(if $(SANITIZE),-fsanitize=$(SANITIZE) -fno-sanitize-recover=all -fno-omit-frame-pointer)
PKGS      = sqlite3 libmicrohttpd jansson libsodium libcurl
CFLAGS    = -std=c11 -D_GNU_SOURCE -D_FORTIFY_SOURCE=$(if $(SANITIZE),0,2) $(WARN) $(OPT) $(SAN) \
            -fstack-protector-strong -pthread -Ilib -Iserver
LDFLAGS   = $(SAN) -pthread -Wl,-z,relro,-z,now
LIBS      = $(shell pkg-config --libs $(PKGS)) -lm

# ---- what there is ------------------------------------------------------------------------------
LIB_SRC    = $(wildcard lib/*/*.c)
SERVER_SRC = $(filter-out server/command/main.c server/work/embed.c,$(wildcard server/*/*.c))
LIB_OBJ    = $(LIB_SRC:%.c=$B/%.o)
SERVER_OBJ = $(SERVER_SRC:%.c=$B/%.o) $B/packed.o
PACKED     = find schema/[0-9]*.sql seed-data/catalogue seed-data/grade web/dist -type f ! -name '.*' 2>/dev/null
PACKED_DIR = $(wildcard schema/. seed-data/catalogue/. seed-data/grade/. web/dist/.)
WEB_SRC    = $(filter-out web/dist/% web/node_modules/%,$(wildcard web/*.* web/*/*.*))
WEB        = $(if $(wildcard web/package.json),web/dist/.built)
UNIT       = $(patsubst %.c,$B/%,$(wildcard tests/unit/*.c))
STORE      = $(patsubst %.c,$B/%,$(wildcard tests/store/*.c))
API        = $(patsubst %.c,$B/%,$(wildcard tests/api/*.c))
FUZZ       = $(patsubst %.c,$B/%,$(wildcard tests/fuzz/*.c))
HTTP       = $(patsubst %.c,$B/%,$(filter-out %_shim.c,$(wildcard tests/http/*.c)))

run_all    = fail=0; for t in $(1); do $$t || fail=1; done; exit $$fail

.PHONY: all web demo run test unit store-tests api http lint lint-test demo-test web-test pictures check sanitize schema bench \
        fuzz fuzz-run install uninstall clean-room clean help
.DELETE_ON_ERROR:
.SECONDARY:

all: $B/quadrille ## build build/quadrille

# ---- what has to be installed, found or fetched --------------------------------------------------
$B/.need-%: .ci/need
	@mkdir -p $(@D)
	@.ci/need $*
	@touch $@

web: $(WEB) ## bundle the pages into web/dist

web/node_modules/.package-lock.json: web/package-lock.json | $B/.need-web
	$Qcd web && npm ci --omit=dev --silent

web/dist/.built: $(WEB_SRC) web/node_modules/.package-lock.json
	$Qcd web && npm run --silent build
	@touch $@

# ---- the program ---------------------------------------------------------------------------------
$B/%.o: %.c | $B/.need-build
	@mkdir -p $(@D)
	$Q$(CC) $(CFLAGS) -MMD -MP -c -o $@ $<

$B/server/command/main.o: CFLAGS += -DVERSION=\"$(VERSION)\"

$B/libquadrille.a: $(LIB_OBJ)
	@rm -f $@
	$Qar rcs $@ $^

$B/libserver.a: $(SERVER_OBJ) # everything but main, so that tests can call it
	@rm -f $@
	$Qar rcs $@ $^

$B/quadrille: $B/server/command/main.o $B/libserver.a $B/libquadrille.a
	$Q$(CC) $(LDFLAGS) -o $@ $^ $(LIBS)

$B/embed: server/work/embed.c | $B/.need-build
	@mkdir -p $(@D)
	$Q$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $<

$B/packed.c: $B/embed $(WEB) $(PACKED_DIR) $(shell $(PACKED)) # schema, catalogue, pages, as bytes
	$Q$(PACKED) | xargs -r sha256sum | $B/embed > $@

$B/packed.o: $B/packed.c
	$Q$(CC) $(CFLAGS) -MMD -MP -c -o $@ $<

demo: all ## the main job on an invented dealer's stock, then a page to look at (ONCE=1: no page)
	@QUADRILLE=$B/quadrille seed-data/demo/run.sh $(if $(ONCE),--once)

run: all ## serve your own data folder on this machine (ARGS="--port 8000" ...)
	@$B/quadrille serve $(ARGS)

# ---- tests ---------------------------------------------------------------------------------------
$B/tests/%.o: tests/%.c | $B/.need-build $B/.need-test
	@mkdir -p $(@D)
	$Q$(CC) $(CFLAGS) -MMD -MP -c -o $@ $<

$B/tests/unit/%: $B/tests/unit/%.o $B/libquadrille.a
	$Q$(CC) $(LDFLAGS) -o $@ $^ -lcmocka -lm

$(STORE) $(API): $B/%: $B/%.o $B/libserver.a $B/libquadrille.a
	$Q$(CC) $(LDFLAGS) -o $@ $^ -lcmocka $(LIBS)

$(HTTP): $B/%: $B/%.o $B/tests/http/daemon/daemon.o $B/libserver.a $B/libquadrille.a
	$Q$(CC) $(LDFLAGS) -o $@ $^ -lcmocka $(LIBS)

$B/tests/bench/bench: $(patsubst %.c,$B/%.o,$(wildcard tests/bench/*.c)) \
                      $B/tests/http/daemon/daemon.o $B/libserver.a $B/libquadrille.a
	$Q$(CC) $(LDFLAGS) -o $@ $^ -lcmocka $(LIBS)

$B/tests/http/fsync_shim.so: tests/http/fsync_shim.c
	@mkdir -p $(@D)
	$Q$(CC) -std=c11 -D_GNU_SOURCE $(WARN) -O2 -fPIC -shared -o $@ $<

test: unit store-tests api http lint-test demo-test web-test ## all tests

unit: $(UNIT) ## the tests of lib alone
	@$(call run_all,$(UNIT))

store-tests: $(STORE) ## the tests of the store, on databases in memory
	@$(call run_all,$(STORE))

api: $(API) ## the tests of the handlers, without a socket
	@$(call run_all,$(API))

http: $(HTTP) $B/quadrille $B/tests/http/fsync_shim.so ## the daemon and the commands, for real
	@export QUADRILLE=$B/quadrille QUADRILLE_SHIM=$B/tests/http/fsync_shim.so; \
	    $(call run_all,$(HTTP))

lint-test: ## the tests of lint itself
	@tests/lint/lint_test

demo-test: $B/quadrille | $B/.need-test ## the demo, with its figures reckoned again from its files
	@QUADRILLE=$B/quadrille tests/demo/demo_test

web/node_modules/playwright-core: web/package-lock.json | $B/.need-web
	$Qcd web && npm ci --silent
	@touch $@

web-test: $B/quadrille web/node_modules/playwright-core | $B/.need-browser ## the pages in Chromium, by keys alone
	@QUADRILLE=$B/quadrille node --test tests/web/*.test.mjs

pictures: $B/quadrille web/node_modules/playwright-core | $B/.need-browser ## of every page, into build/pictures
	@QUADRILLE=$B/quadrille node tests/web/pictures.mjs

check: test lint sanitize ## test, lint and sanitizers

lint: $B/.need-lint ## the rules of the house: layers, doors, banned calls, layout
	@tests/lint/lint

sanitize: ## the tests again under the address, undefined and thread sanitizers
	@s=0; $(MAKE) -k --no-print-directory B=$B/asan SANITIZE=address,undefined \
	    unit store-tests api http || s=1; \
	$(MAKE) --no-print-directory B=$B/tsan SANITIZE=thread http || s=1; exit $$s

bench: $B/tests/bench/bench $B/quadrille ## readings a second beside SQLite alone, list latency
	@QUADRILLE=$B/quadrille $B/tests/bench/bench

fuzz: $B/.need-fuzz ## random bytes for every parser, each for FUZZ_S seconds (10)
	@$(MAKE) --no-print-directory B=$B/fuzz CC=clang WARN= \
	    SANITIZE=fuzzer-no-link,address,undefined fuzz-run

$(FUZZ): $B/%: $B/%.o $B/libserver.a $B/libquadrille.a
	$Q$(CC) $(LDFLAGS) -fsanitize=fuzzer -o $@ $^ $(LIBS)

fuzz-run: $(FUZZ)
	@set -e; for t in $(FUZZ); do n=$$(basename $$t); mkdir -p $B/corpus/$$n; echo "$$n"; \
	    $$t -max_total_time=$(or $(FUZZ_S),10) -timeout=5 -verbosity=0 -artifact_prefix=$B/corpus/ \
	        $B/corpus/$$n tests/fuzz/seeds/$$n; done

clean-room: ## both commands of the README in a fresh Debian 12 (long; as root)
	@.ci/need room && .ci/clean-room

# ---- putting it somewhere ------------------------------------------------------------------------
install: ## put what is built under PREFIX (/usr/local); builds and fetches nothing
	@test -x $B/quadrille || { echo "nothing is built yet: run make first" >&2; exit 1; }
	install -D -m 755 $B/quadrille $(DESTDIR)$(PREFIX)/bin/quadrille
	install -D -m 644 README.md $(DESTDIR)$(PREFIX)/share/doc/quadrille/README.md
	install -D -m 644 LICENSE $(DESTDIR)$(PREFIX)/share/doc/quadrille/LICENSE

uninstall: ## take that away again; data folders stay
	rm -f $(DESTDIR)$(PREFIX)/bin/quadrille
	rm -rf $(DESTDIR)$(PREFIX)/share/doc/quadrille

schema: $B/tests/store/schema ## write schema/schema.sql anew, the sum of the migrations
	@SCHEMA_WRITE=1 $B/tests/store/schema

clean: ## remove what was built
	rm -rf $B web/dist web/node_modules

help: ## this list
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed 's/:.*## /\t/' | expand -t 14

-include $(shell find $B -name '*.d' 2>/dev/null)
