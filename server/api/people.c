/* SPDX-License-Identifier: MIT
 *
 * people: list, add and change people.  Passwords are hashed in prepare, on a worker; the writer
 * only sees the hash.
 */
#include "api/people.h"
#include "auth/password.h"

#include <stdio.h>
#include <string.h>

#define AT(s, f) offsetof(struct s, f)

/* ---- shapes
 * -------------------------------------------------------------------------------------- */

static const struct field person_fields[] = {
    {"id", K_INT, F_REQUIRED, AT(person, id), .help = "number of the person"},
    {"name", K_TEXT, F_REQUIRED, AT(person, name), .help = "sign-in name", .example = "vera"},
    {"shown", K_TEXT, F_REQUIRED, AT(person, shown), .help = "name as shown", .example = "Vera L."},
    {"role", K_ENUM, F_REQUIRED, AT(person, role), .names = role_names,
     .help = "what the person may do", .example = "bench"},
    {"created", K_MOMENT, F_REQUIRED, AT(person, created_ms), .help = "when the person was added"},
    {"disabled", K_MOMENT, F_NULL, AT(person, disabled_ms),
     .help = "since when the person may not sign in; null: may"},
    {"version", K_INT, F_REQUIRED, AT(person, version), .help = "counts changes; the ETag"},
    {0},
};
const struct shape person_shape = {"person", sizeof(struct person), person_fields};

struct people_view {
    struct list people;
};
static const struct field people_view_fields[] = {
    {"people", K_LIST, F_REQUIRED, AT(people_view, people), 0, 1000, .sub = &person_shape,
     .help = "by sign-in name"},
    {0},
};
static const struct shape people_view_shape = {"people", sizeof(struct people_view),
                                               people_view_fields};

struct person_new {
    const char *name, *shown, *password;
    int64_t role;
};
static const struct field person_new_fields[] = {
    {"name", K_TEXT, F_REQUIRED, AT(person_new, name), 1, 64,
     .help = "sign-in name: letters a-z, digits, '.', '-', '_'", .example = "vera"},
    {"shown", K_TEXT, 0, AT(person_new, shown), 1, 100,
     .help = "name as shown; the sign-in name when absent", .example = "Vera L."},
    {"role", K_ENUM, F_REQUIRED, AT(person_new, role), .names = role_names,
     .help = "what the person may do", .example = "bench"},
    {"password", K_TEXT, F_REQUIRED | F_SECRET, AT(person_new, password), 1, 4000,
     .help = "12 to 256 bytes, no other rule", .example = "seven quiet brown valves"},
    {0},
};
static const struct shape person_new_shape = {"person_new", sizeof(struct person_new),
                                              person_new_fields};

struct person_id {
    int64_t id;
};
static const struct field person_id_fields[] = {
    {"id", K_INT, F_REQUIRED | F_PATH, AT(person_id, id), 1, INT64_MAX,
     .help = "number of the person", .example = "2"},
    {0},
};
static const struct shape person_id_shape = {"person_id", sizeof(struct person_id),
                                             person_id_fields};

struct person_change {
    int64_t id, role, disabled;
    const char *shown, *password;
};
static const struct field person_change_fields[] = {
    {"id", K_INT, F_REQUIRED | F_PATH, AT(person_change, id), 1, INT64_MAX,
     .help = "number of the person", .example = "2"},
    {"shown", K_TEXT, 0, AT(person_change, shown), 1, 100, .help = "name as shown",
     .example = "Vera L."},
    {"role", K_ENUM, 0, AT(person_change, role), .names = role_names,
     .help = "what the person may do, from the next request on", .example = "bench"},
    {"disabled", K_BOOL, 0, AT(person_change, disabled),
     .help = "true: may not sign in, and is signed out everywhere", .example = "false"},
    {"password", K_TEXT, F_SECRET, AT(person_change, password), 1, 4000,
     .help = "12 to 256 bytes; signs the person out everywhere"},
    {0},
};
static const struct shape person_change_shape = {"person_change", sizeof(struct person_change),
                                                 person_change_fields};

/* ---- handlers
 * ------------------------------------------------------------------------------------ */

bool people_in_person(const struct req *rq, struct err *e)
{
    if (rq->who->token_id != NONE)
        return err_set(e, ERR_DENIED,
                       "An API token may not change people, passwords or tokens: sign in, or use "
                       "the command line on the data folder.");
    return true;
}

static bool reply_person(struct reply *out, struct req *rq, int64_t id, struct err *e)
{
    struct person *p = arena_alloc(rq->arena, sizeof *p);
    if (!people_load(p, rq->store, id, rq->arena, e))
        return false;
    out->etag = arena_printf(rq->arena, "%lld", (long long)p->version);
    return reply_body(out, p);
}

static bool people_all(struct reply *out, struct req *rq, struct err *e)
{
    (void)e;
    struct people_view *v = arena_alloc(rq->arena, sizeof *v);
    v->people = people_list(rq->store, rq->arena);
    return reply_body(out, v);
}

static bool person_get(struct reply *out, struct req *rq, struct err *e)
{
    const struct person_id *in = rq->in;
    return reply_person(out, rq, in->id, e);
}

static bool person_add_prepare(struct reply *out, struct req *rq, struct err *e)
{
    (void)out;
    const struct person_new *in = rq->in;
    struct person *p = arena_alloc(rq->arena, sizeof *p);
    char *name = arena_alloc(rq->arena, PEOPLE_NAME_BYTES);
    if (!people_in_person(rq, e))
        return false;
    if (!people_fold(name, in->name, e))
        return err_in(e, "name");
    p->name = name;
    p->shown = in->shown ? in->shown : name;
    p->role = in->role;
    rq->prepared = p;
    return password_make(&p->password_hash, in->password, "password", rq->arena, e);
}

static bool person_add(struct reply *out, struct req *rq, struct err *e)
{
    const struct person *p = rq->prepared;
    int64_t id;
    if (!people_add(&id, rq->store, p, e))
        return false;
    out->location = arena_printf(rq->arena, "/api/people/%lld", (long long)id);
    return reply_person(out, rq, id, e);
}

static bool person_change_prepare(struct reply *out, struct req *rq, struct err *e)
{
    (void)out;
    const struct person_change *in = rq->in;
    struct person p;
    if (!people_in_person(rq, e) || !people_load(&p, rq->store, in->id, rq->arena, e))
        return false;
    if (!in->password)
        return true;
    struct person *with = arena_alloc(rq->arena, sizeof *with);
    rq->prepared = with;
    return password_make(&with->password_hash, in->password, "password", rq->arena, e);
}

/* The version meant by If-Match: "3"; any when the header is absent or "*". */
static bool meant_version(int64_t *version, const struct req *rq, struct err *e)
{
    *version = NONE;
    if (!rq->if_match || strcmp(rq->if_match, "*") == 0)
        return true;
    long long v;
    char quote;
    int used = 0;
    if (sscanf(rq->if_match, "\"%18lld%c%n", &v, &quote, &used) != 2 || quote != '"' ||
        rq->if_match[used])
        return err_field(e, "If-Match", ERR_INVALID,
                         "If-Match has to be the ETag of a person as it was given, such as \"3\".");
    *version = v;
    return true;
}

static bool person_change(struct reply *out, struct req *rq, struct err *e)
{
    const struct person_change *in = rq->in;
    struct person p;
    if (!people_load(&p, rq->store, in->id, rq->arena, e))
        return false;
    if (!in->shown && in->role == NONE && in->disabled == NONE && !in->password)
        return err_set(e, ERR_INVALID,
                       "Nothing to change: give shown, role, disabled or password.");
    if (!meant_version(&p.version, rq, e))
        return false;
    if (in->shown)
        p.shown = in->shown;
    if (in->role != NONE)
        p.role = in->role;
    if (in->disabled == 0)
        p.disabled_ms = NONE;
    if (in->disabled == 1 && p.disabled_ms == NONE)
        p.disabled_ms = rq->now_ms;
    const struct person *with = rq->prepared;
    p.password_hash = with ? with->password_hash : NULL;
    if (!people_change(rq->store, &p, rq->who->session_id, e))
        return false;
    return reply_person(out, rq, in->id, e);
}

const struct route people_routes[] = {
    {GET, "/api/people", R_OWNER, 0, NULL, &people_view_shape, NULL, people_all,
     "Everybody who may sign in, or once might"},
    {POST, "/api/people", R_OWNER, WRITE | CREATES | HASHES, &person_new_shape, &person_shape,
     person_add_prepare, person_add, "Add a person"},
    {GET, "/api/people/:id", R_OWNER, 0, &person_id_shape, &person_shape, NULL, person_get,
     "One person"},
    {PATCH, "/api/people/:id", R_OWNER, WRITE | HASHES, &person_change_shape, &person_shape,
     person_change_prepare, person_change,
     "Change a person's shown name, role or password; disable or enable; the last owner stays"},
    {0},
};
