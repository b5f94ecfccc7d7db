/* SPDX-License-Identifier: MIT
 *
 * route: the one list of all routes.  Adding a noun is adding its table here.
 */
#include "api/bin.h"
#include "api/construction.h"
#include "api/equivalence.h"
#include "api/grade.h"
#include "api/inspection.h"
#include "api/load.h"
#include "api/lot.h"
#include "api/lookup.h"
#include "api/maker.h"
#include "api/match.h"
#include "api/people.h"
#include "api/reading.h"
#include "api/session.h"
#include "api/tester.h"
#include "api/token.h"
#include "api/tube.h"
#include "api/upkeep.h"
#include "api/type.h"
#include "http/events.h"
#include "http/openapi.h"

/* clang-format off */
const struct route *const route_tables[] = {
    session_routes,
    people_routes,
    token_routes,
    maker_routes,
    construction_routes,
    bin_routes,
    lot_routes,
    lookup_routes,
    type_routes,
    equivalence_routes,
    tube_routes,
    inspection_routes,
    tester_routes,
    reading_routes,
    load_routes,
    grade_routes,
    match_routes,
    set_routes,
    upkeep_routes,
    events_routes,
    openapi_routes,
    NULL,
};
/* clang-format on */
