# Quadrille.  `make help` lists the targets.
# SPDX-License-Identifier: MIT

B        ?= build
CC       ?= cc
PREFIX   ?= /usr/local
SANITIZE ?=
Q         = $(if $(V),,@)
WARN      = -Wall -Wextra -Werror -Wshadow -Wconversion -Wstrict-prototypes -Wmissing-prototypes \
            -Wvla -Wformat=2 -Wundef -Wpointer-arith -Wcast-qual -Wwrite-strings
OPT      ?= -O2 -g
SAN       = $(if $(SANITIZE),-fsanitize=$(SANITIZE) -fno-sanitize-recover=all -fno-omit-frame-pointer)
VERSION   = 0.1.0
PKGS      = sqlite3 libmicrohttpd jansson libsodium libcurl
CFLAGS    = -std=c11 -D_GNU_SOURCE -D_FORTIFY_SOURCE=$(if $(SANITIZE),0,2) $(WARN) $(OPT) $(SAN) \
            -fstack-protector-strong -pthread -Ilib -Iserver -DVERSION=\"$(VERSION)\"
LDFLAGS   = $(SAN) -pthread -Wl,-z,relro,-z,now
LIBS      = $(shell pkg-config --libs $(PKGS)) -lm

# ---- what there is ------------------------------------------------------------------------------
LIB_SRC    = $(wildcard lib/*/*.c)
SERVER_SRC = $(filter-out server/command/main.c server/work/embed.c,$(wildcard server/*/*.c))
LIB_OBJ    = $(LIB_SRC:%.c=$B/%.o)
SERVER_OBJ = $(SERVER_SRC:%.c=$B/%.o) $B/packed.o
PACKED     = find schema/[0-9]*.sql seed-data/catalogue seed-data/grade web/dist -type f 2>/dev/null
PACKED_DIR = $(wildcard schema/. seed-data/catalogue seed-data/grade web/dist)
UNIT       = $(patsubst %.c,$B/%,$(wildcard tests/unit/*.c))
STORE      = $(patsubst %.c,$B/%,$(wildcard tests/store/*.c))
API        = $(patsubst %.c,$B/%,$(wildcard tests/api/*.c))
FUZZ       = $(patsubst %.c,$B/%,$(wildcard tests/fuzz/*.c))
HTTP       = $(patsubst %.c,$B/%,$(filter-out %_shim.c,$(wildcard tests/http/*.c)))

.PHONY: all test unit store-tests api http bench schema fuzz lint clean help
.DELETE_ON_ERROR:
.SECONDARY:

all: $B/quadrille ## build

$B/%.o: %.c
	@mkdir -p $(@D)
	$Q$(CC) $(CFLAGS) -MMD -MP -c -o $@ $<

$B/libquadrille.a: $(LIB_OBJ)
	@rm -f $@
	$Qar rcs $@ $^

$B/libserver.a: $(SERVER_OBJ) # everything but main, so that tests can call it
	@rm -f $@
	$Qar rcs $@ $^

$B/quadrille: $B/server/command/main.o $B/libserver.a $B/libquadrille.a
	$Q$(CC) $(LDFLAGS) -o $@ $^ $(LIBS)

$B/embed: server/work/embed.c
	@mkdir -p $(@D)
	$Q$(CC) $(CFLAGS) $(LDFLAGS) -o $@ $<

$B/packed.c: $B/embed $(PACKED_DIR) $(shell $(PACKED)) # schema, catalogue and pages, as bytes
	$Q$(PACKED) | xargs -r sha256sum | $B/embed > $@

$B/packed.o: $B/packed.c
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

unit: $(UNIT) ## the tests of lib alone
	@set -e; for t in $(UNIT); do $$t; done

store-tests: $(STORE) ## the tests of the store, on databases in memory
	@set -e; for t in $(STORE); do $$t; done

api: $(API) ## the tests of the handlers, without a socket
	@set -e; for t in $(API); do $$t; done

http: $(HTTP) $B/quadrille $B/tests/http/fsync_shim.so ## the tests of threads, queues and the daemon, over real HTTP
	@set -e; export QUADRILLE=$B/quadrille QUADRILLE_SHIM=$B/tests/http/fsync_shim.so; for t in $(HTTP); do $$t; done

$(FUZZ): $B/%: $B/%.o $B/libserver.a $B/libquadrille.a
	$Q$(CC) $(LDFLAGS) -fsanitize=fuzzer -o $@ $^ $(LIBS)

# make B=build/fuzz CC=clang WARN= SANITIZE=fuzzer-no-link,address,undefined FUZZ_S=60 fuzz
fuzz: $(FUZZ) ## random bytes for every parser, each for FUZZ_S seconds; wants clang, see Makefile
	@set -e; for t in $(FUZZ); do n=$$(basename $$t); mkdir -p $B/corpus/$$n; \
	    $$t -max_total_time=$(or $(FUZZ_S),10) -timeout=5 -verbosity=0 -artifact_prefix=$B/corpus/ \
	        $B/corpus/$$n tests/fuzz/seeds/$$n; done

bench: $B/tests/bench/bench $B/quadrille ## readings a second beside SQLite alone, and list latency
	@QUADRILLE=$B/quadrille $B/tests/bench/bench

test: unit store-tests api http ## all of them

schema: $B/tests/store/schema ## write schema/schema.sql anew, the sum of the migrations
	@SCHEMA_WRITE=1 $B/tests/store/schema

clean: ## remove what was built
	rm -rf $B

help: ## this list
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed 's/:.*## /\t/' | expand -t 14

-include $(shell find $B -name '*.d' 2>/dev/null)
