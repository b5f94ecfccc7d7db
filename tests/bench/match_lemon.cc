/* SPDX-License-Identifier: MIT
 *
 * match_lemon: pairs by this engine against COIN-OR LEMON on all edges, same instances, processor time.
 *
 *   g++ -O2 -std=c++17 -Ilib -o build/tests/bench/match_lemon tests/bench/match_lemon.cc \
 *       build/libquadrille.a -lm        (Debian: liblemon-dev, of which the headers are enough)
 *   build/tests/bench/match_lemon [TUBES COORDINATES PERCENT]...
 *
 * Prints a line for each instance: pairs, cost, both times and their ratio; ends with status 1 when the
 * two disagree.  Readings: normal about a common wear, spreads of 11 % and 8 % in turn, correlated 0.8,
 * two decimals; made by rule, the same every time.
 */
extern "C" {
#include "match/judge.h"
#include "match/solve.h"
}

#include <lemon/matching.h>
#include <lemon/smart_graph.h>

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <string>
#include <vector>

namespace
{

std::uint64_t state = 1;

double normal()
{
    double sum = -6;
    for (int i = 0; i < 12; i++) {
        state = state * 6364136223846793005u + 1442695040888963407u;
        sum += double(state >> 40) / double(1 << 24);
    }
    return sum;
}

double seconds()
{
    return double(std::clock()) / CLOCKS_PER_SEC;
}

struct instance {
    std::vector<std::string> name;
    std::vector<const char *> id;
    std::vector<std::int32_t> class_of;
    std::vector<std::int64_t> value;
    std::vector<match_band> band;
    std::vector<const char *> column;
    match_line pairs{2, MATCH_ANY};
    match_problem p{};

    instance(int n, int d, int percent)
        : class_of(n), value(std::size_t(n) * d), band(d, {MATCH_RELATIVE, percent, 100}),
          column(d, "x")
    {
        char text[16];
        for (int i = 0; i < n; i++) {
            std::snprintf(text, sizeof text, "T%06d", i);
            name.emplace_back(text);
            double wear = normal();
            for (int j = 0; j < d; j++) {
                double z = 0.8 * wear + 0.6 * normal();
                value[std::size_t(i) * d + j] =
                    std::llround(j % 2 == 0 ? 1050 * std::exp(0.11 * z) : 550 * std::exp(0.08 * z));
            }
        }
        for (auto &s : name)
            id.push_back(s.c_str());
        p.tubes = n;
        p.coordinates = d;
        p.lines = 1;
        p.id = id.data();
        p.class_of = class_of.data();
        p.value = value.data();
        p.band = band.data();
        p.demand = &pairs;
        p.column = column.data();
    }
};

struct outcome {
    long long pairs;
    long long cost;
    double time;
};

outcome ours(const instance &x)
{
    arena *a = arena_new();
    match_options o{};
    match_answer answer;
    err e{};
    double start = seconds();
    bool ok = match_solve(&x.p, &o, a, &answer, &e);
    double time = seconds() - start;
    if (!ok || !match_check(&x.p, &answer, &e) || !answer.cost_proven) {
        std::printf("not solved: %s\n", e.text);
        std::exit(1);
    }
    outcome r{answer.found[0], answer.cost, time};
    arena_free(a);
    return r;
}

outcome lemons(const instance &x)
{
    using graph = lemon::SmartGraph;
    double start = seconds();
    graph g;
    graph::EdgeMap<long long> weight(g);
    long long reward = (long long)(x.p.tubes / 2) * x.p.coordinates * MATCH_COST_UNIT + 1;
    std::vector<graph::Node> node;
    for (int i = 0; i < x.p.tubes; i++)
        node.push_back(g.addNode());
    for (int i = 0; i < x.p.tubes; i++) {
        for (int j = i + 1; j < x.p.tubes; j++) {
            const int set[] = {i, j};
            std::int64_t cost;
            if (match_set_holds(&x.p, set, 2, &cost))
                weight[g.addEdge(node[i], node[j])] = reward - cost;
        }
    }
    lemon::MaxWeightedMatching<graph, graph::EdgeMap<long long>> m(g, weight);
    m.run();
    outcome r{m.matchingSize(), m.matchingSize() * reward - m.matchingWeight(), seconds() - start};
    return r;
}

} // namespace

int main(int argc, char **argv)
{
    std::vector<int> ask{1000, 2, 5, 2000, 2, 10, 2000, 4, 2, 5000, 2, 5};
    if (argc > 3) {
        ask.clear();
        for (int i = 1; i < argc; i++)
            ask.push_back(std::atoi(argv[i]));
    }
    int status = 0;
    for (std::size_t i = 0; i + 2 < ask.size(); i += 3) {
        instance x(ask[i], ask[i + 1], ask[i + 2]);
        outcome a = ours(x);
        outcome b = lemons(x);
        bool same = a.pairs == b.pairs && a.cost == b.cost;
        std::printf("%6d tubes, %d quantities, %2d %%: %lld pairs, cost %lld; ours %.3f s, LEMON on "
                    "all edges %.3f s, ratio %.3f%s\n",
                    ask[i], ask[i + 1], ask[i + 2], a.pairs, a.cost, a.time, b.time, a.time / b.time,
                    same ? "" : "  DIFFERENT");
        status |= !same;
    }
    return status;
}
