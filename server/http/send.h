/* SPDX-License-Identifier: MIT
 *
 * send: an answer as libmicrohttpd wants it, with the headers that every answer of ours carries.
 */
#ifndef QUADRILLE_HTTP_SEND_H
#define QUADRILLE_HTTP_SEND_H

#include "http/assets.h"
#include "http/call.h"
#include "http/readers.h"

#include <microhttpd.h>

/* The answer of a call that is done.  Texts stay in the call's arena, and a stream asks for its
 * pieces later: the call must live until the request has ended.  NULL when out of memory. */
struct MHD_Response *send_call(struct call *c, struct readers *readers);

/* A page, or 304 without a body when if_none_match names it; *status is set.  The asset's bytes
 * must live as long. */
struct MHD_Response *send_asset(int *status, const struct asset *page, const char *if_none_match);

/* The headers for everything: what the browser may do with it, and the request's id. */
void send_guard(struct MHD_Response *r, const char *request_id);

#endif
