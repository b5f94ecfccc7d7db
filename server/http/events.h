/* SPDX-License-Identifier: MIT
 *
 * events: tells listeners what changed, as server-sent events (WHATWG HTML, section 9.2).
 *
 *     id: 1862736000123
 *     event: tube
 *     data: {"kind":"tube","id":1000013}
 *
 * The newest EVENTS_KEPT are kept for everybody.  A listener that falls further behind, or comes
 * back with a Last-Event-ID that is no longer known, gets the event "reload" instead: look again at
 * whatever you show.  A stream ends after EVENTS_BEATS_MOST heartbeats, so that who is allowed to
 * listen is asked again; browsers come back by themselves.
 */
#ifndef QUADRILLE_HTTP_EVENTS_H
#define QUADRILLE_HTTP_EVENTS_H

#include "api/route.h"

#include <microhttpd.h>

#define EVENTS_KEPT       256
#define EVENTS_BEAT_S     15 /* house rule: proxies drop what is silent for 30 to 60 seconds */
#define EVENTS_BEATS_MOST 40

struct events;

extern const struct route events_routes[]; /* GET /api/events */

/* most: streams at once.  now_ms numbers the events, so that a number of an earlier run is known to
 * be old. */
struct events *events_new(int most, int64_t now_ms);

/* An endless response for one listener; the caller adds headers, queues and destroys it.  last_id:
 * the Last-Event-ID header, NULL when absent.  ERR_UNAVAILABLE when there are too many streams or
 * we are stopping. */
MUST_USE bool events_join(struct MHD_Response **out, struct events *v, struct MHD_Connection *con,
                          const char *last_id, struct err *e);

/* Tell all; any thread.  kind: a word of ours, at most 31 bytes. */
void events_publish(struct events *v, const char *kind, int64_t id);

/* A comment to every listener, so that dead ones are noticed.  Every EVENTS_BEAT_S. */
void events_beat(struct events *v);

/* End all streams and refuse new ones: nothing of ours is suspended from now on. */
void events_close(struct events *v);

/* After the daemon has stopped. */
void events_free(struct events *v);

#endif
