-- The sum of the migrations at schema 1, for reading; generated: make schema

CREATE TABLE api_token (
    id         INTEGER PRIMARY KEY,
    user_id    INTEGER NOT NULL REFERENCES user (id),
    title      TEXT NOT NULL,               -- what it is for
    token_hash BLOB NOT NULL UNIQUE CHECK (length(token_hash) = 32),  -- SHA-256 of the token
    role       TEXT NOT NULL CHECK (role IN ('owner', 'bench', 'counter', 'viewer')),
    created_ms INTEGER NOT NULL,
    expires_ms INTEGER,                     -- NULL: until revoked
    revoked_ms INTEGER,
    seen_ms    INTEGER                      -- last use, to the day
) STRICT;

CREATE INDEX api_token_user ON api_token (user_id);

CREATE TABLE bin (
    id      INTEGER PRIMARY KEY,
    code    TEXT NOT NULL UNIQUE,           -- as written on the shelf
    note    TEXT,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE TABLE calibration (
    id          INTEGER PRIMARY KEY,
    tester_id   INTEGER NOT NULL REFERENCES tester (id),
    quantity    TEXT NOT NULL REFERENCES quantity (code),
    from_ms     INTEGER NOT NULL,           -- for readings taken from then on
    to_ms       INTEGER,                    -- until then; NULL: still
    slope       REAL NOT NULL,
    intercept   REAL NOT NULL,              -- in the quantity's unit
    u_slope     REAL NOT NULL,              -- standard uncertainties
    u_intercept REAL NOT NULL,
    covariance  REAL NOT NULL,
    low         REAL NOT NULL,              -- the check tubes' readings span low ... high
    high        REAL NOT NULL,
    points      INTEGER NOT NULL,           -- check tubes it rests on
    made_ms     INTEGER NOT NULL,
    user_id     INTEGER NOT NULL REFERENCES user (id),
    note        TEXT
) STRICT;

CREATE INDEX calibration_tester ON calibration (tester_id, quantity, from_ms);

CREATE TABLE certificate (
    id        INTEGER PRIMARY KEY,
    code      TEXT NOT NULL UNIQUE,         -- printed on it
    set_id    INTEGER REFERENCES matched_set (id),
    tube_id   INTEGER REFERENCES tube (id),
    issued_ms INTEGER NOT NULL,
    user_id   INTEGER NOT NULL REFERENCES user (id),
    content   TEXT NOT NULL,                -- JSON of all that was printed
    pdf_hash  BLOB CHECK (length(pdf_hash) = 32),
    public    INTEGER NOT NULL DEFAULT 0 CHECK (public IN (0, 1)),
    CHECK ((set_id IS NULL) <> (tube_id IS NULL))
) STRICT;

CREATE INDEX certificate_set ON certificate (set_id);

CREATE INDEX certificate_tube ON certificate (tube_id);

CREATE TRIGGER certificate_fixed BEFORE UPDATE OF code, set_id, tube_id, issued_ms, content, pdf_hash
ON certificate
BEGIN SELECT RAISE(ABORT, 'a certificate is never changed: issue a new one'); END;

CREATE TRIGGER certificate_no_delete BEFORE DELETE ON certificate
BEGIN SELECT RAISE(ABORT, 'a certificate is never deleted'); END;

CREATE TABLE check_reading (
    id         INTEGER PRIMARY KEY,
    tester_id  INTEGER NOT NULL REFERENCES tester (id),
    reading_id INTEGER NOT NULL UNIQUE REFERENCES reading (id),
    round      INTEGER NOT NULL             -- readings of one check share it
) STRICT;

CREATE INDEX check_reading_tester ON check_reading (tester_id, round);

CREATE TABLE check_value (
    tube_id       INTEGER NOT NULL REFERENCES tube (id),
    section       INTEGER NOT NULL,
    quantity      TEXT NOT NULL REFERENCES quantity (code),
    test_point_id INTEGER NOT NULL REFERENCES test_point (id),
    value         INTEGER NOT NULL,
    u_milli       INTEGER NOT NULL,         -- standard uncertainty, thousandths of a last place
    from_ms       INTEGER NOT NULL,
    PRIMARY KEY (tube_id, section, quantity, test_point_id, from_ms)
) STRICT, WITHOUT ROWID;

CREATE TABLE construction (
    id       INTEGER PRIMARY KEY,
    title    TEXT NOT NULL UNIQUE,          -- 'long grey plates, D getter'
    maker_id INTEGER REFERENCES maker (id),
    type_id  INTEGER REFERENCES type (id),
    plate    TEXT, getter TEXT, base TEXT, envelope TEXT,  -- form and finish, in words
    note     TEXT,
    version  INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE TABLE customer (
    id         INTEGER PRIMARY KEY,
    name       TEXT, address TEXT, country TEXT, email TEXT, phone TEXT,  -- personal; NULL: erased
    note       TEXT,                        -- personal
    created_ms INTEGER NOT NULL,
    erased_ms  INTEGER,
    version    INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE TABLE designation (
    id      INTEGER PRIMARY KEY,
    type_id INTEGER NOT NULL REFERENCES type (id),
    text    TEXT NOT NULL UNIQUE,           -- as printed, UTF-8
    kind    TEXT NOT NULL DEFAULT 'printed' CHECK (kind IN ('printed', 'trade')),
                                            -- on the glass, or only as the trade writes it
    source  TEXT,
    found_where TEXT,                       -- address of the page read
    how     TEXT NOT NULL CHECK (how IN ('found', 'memory', 'own')),
    origin  TEXT NOT NULL CHECK (origin IN ('bundled', 'own'))
) STRICT;

CREATE INDEX designation_type ON designation (type_id);

CREATE TABLE designation_key (
    key            TEXT NOT NULL,
    designation_id INTEGER NOT NULL REFERENCES designation (id) ON DELETE CASCADE,
    PRIMARY KEY (key, designation_id)
) STRICT, WITHOUT ROWID;

CREATE INDEX designation_key_of ON designation_key (designation_id);

CREATE TABLE doubt (
    id      INTEGER PRIMARY KEY,
    type_id INTEGER NOT NULL REFERENCES type (id),
    kind    TEXT NOT NULL,                  -- 'mu', 'dissipation' ... (catalogue/type)
    why     TEXT NOT NULL,                  -- why it is left standing
    origin  TEXT NOT NULL CHECK (origin IN ('bundled', 'own')),
    UNIQUE (type_id, kind)
) STRICT;

CREATE TABLE equivalence (
    id          INTEGER PRIMARY KEY,
    from_id     INTEGER NOT NULL REFERENCES type (id),
    to_id       INTEGER NOT NULL REFERENCES type (id),
    relation    TEXT NOT NULL CHECK (relation IN ('same', 'improved', 'close', 'base-differs',
                                                  'heater-differs', 'cap-differs')),
    conditions  TEXT,
    source      TEXT,
    how         TEXT NOT NULL CHECK (how IN ('found', 'memory', 'own')),
    found_where TEXT,
    origin      TEXT NOT NULL CHECK (origin IN ('bundled', 'own')),
    UNIQUE (from_id, to_id, relation, origin),
    CHECK (from_id <> to_id)
) STRICT;

CREATE INDEX equivalence_to ON equivalence (to_id);

CREATE TABLE family (
    id   INTEGER PRIMARY KEY,
    name TEXT NOT NULL UNIQUE               -- the designation it is listed under
) STRICT;

CREATE TABLE feature (
    id              INTEGER PRIMARY KEY,
    construction_id INTEGER NOT NULL REFERENCES construction (id),
    aspect          TEXT NOT NULL,          -- 'getter support', 'mica' ...
    words           TEXT NOT NULL,
    photo_id        INTEGER REFERENCES photo (id)
) STRICT;

CREATE INDEX feature_construction ON feature (construction_id);

CREATE TABLE grade_scheme (
    id         INTEGER PRIMARY KEY,
    code       TEXT NOT NULL,               -- 'default'
    edition    INTEGER NOT NULL,            -- 1, 2, 3 of that code
    title      TEXT NOT NULL,
    state      TEXT NOT NULL CHECK (state IN ('draft', 'current', 'retired')),
    rows       TEXT NOT NULL,               -- the scheme itself, CSV (grade/scheme)
    origin     TEXT NOT NULL CHECK (origin IN ('bundled', 'own')),
    created_ms INTEGER NOT NULL,
    user_id    INTEGER NOT NULL REFERENCES user (id),
    UNIQUE (code, edition)
) STRICT;

CREATE UNIQUE INDEX grade_scheme_current ON grade_scheme (state) WHERE state = 'current';

CREATE TRIGGER grade_scheme_fixed BEFORE UPDATE OF code, edition, rows ON grade_scheme
WHEN OLD.state <> 'draft'
BEGIN SELECT RAISE(ABORT, 'a scheme in use is never changed: make a new edition'); END;

CREATE TABLE grading (
    id         INTEGER PRIMARY KEY,
    tube_id    INTEGER NOT NULL REFERENCES tube (id),
    scheme_id  INTEGER NOT NULL REFERENCES grade_scheme (id),
    grade      TEXT NOT NULL,
    reasons    TEXT NOT NULL,               -- JSON: for the grade and against each higher one
    borderline INTEGER NOT NULL CHECK (borderline IN (0, 1)),
    at_ms      INTEGER NOT NULL,
    user_id    INTEGER NOT NULL REFERENCES user (id)
) STRICT;

CREATE INDEX grading_tube ON grading (tube_id, id);

CREATE TRIGGER grading_no_delete BEFORE DELETE ON grading
BEGIN SELECT RAISE(ABORT, 'a grading is never deleted: grade again'); END;

CREATE TRIGGER grading_no_update BEFORE UPDATE ON grading
BEGIN SELECT RAISE(ABORT, 'a grading is never changed: grade again'); END;

CREATE TABLE hazard (
    id      INTEGER PRIMARY KEY,
    type_id INTEGER NOT NULL REFERENCES type (id),
    kind    TEXT NOT NULL,                  -- 'radioactive', 'mercury', 'beryllia' ...
    words   TEXT NOT NULL,
    source  TEXT,
    found_where TEXT,                       -- address of the page read
    how     TEXT NOT NULL CHECK (how IN ('found', 'memory', 'own')),
    origin  TEXT NOT NULL CHECK (origin IN ('bundled', 'own')),
    UNIQUE (type_id, kind)
) STRICT;

CREATE TABLE hold (
    id            INTEGER PRIMARY KEY,
    tube_id       INTEGER NOT NULL REFERENCES tube (id),
    order_line_id INTEGER REFERENCES order_line (id),
    customer_id   INTEGER REFERENCES customer (id),
    set_id        INTEGER REFERENCES matched_set (id),  -- held as a member of this set
    until_ms      INTEGER NOT NULL,
    placed_ms     INTEGER NOT NULL,
    user_id       INTEGER NOT NULL REFERENCES user (id),
    released_ms   INTEGER,
    reason        TEXT,                     -- of the release: 'expired', 'shipped', 'by hand' ...
    live          INTEGER NOT NULL DEFAULT 1 CHECK (live IN (0, 1)),  -- kept by the trigger below
    CHECK (order_line_id IS NOT NULL OR customer_id IS NOT NULL)
) STRICT;

CREATE INDEX hold_line ON hold (order_line_id);

CREATE UNIQUE INDEX hold_live ON hold (tube_id) WHERE live = 1;

CREATE INDEX hold_set ON hold (set_id) WHERE set_id IS NOT NULL;

CREATE INDEX hold_tube ON hold (tube_id);

CREATE INDEX hold_until ON hold (until_ms) WHERE live = 1;

CREATE TRIGGER hold_live_guard BEFORE UPDATE OF live ON hold
WHEN NEW.live <> (NEW.released_ms IS NULL)
BEGIN SELECT RAISE(ABORT, 'live of a hold follows its release'); END;

CREATE TRIGGER hold_live_on_insert BEFORE INSERT ON hold
WHEN NEW.live <> (NEW.released_ms IS NULL)
BEGIN SELECT RAISE(ABORT, 'live of a hold follows its release'); END;

CREATE TRIGGER hold_live_on_release AFTER UPDATE OF released_ms ON hold
BEGIN
    UPDATE hold SET live = (NEW.released_ms IS NULL) WHERE id = NEW.id;
END;

CREATE TRIGGER hold_release_once BEFORE UPDATE OF released_ms ON hold
WHEN OLD.released_ms IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'a released hold stays released: place a new one'); END;

CREATE TABLE idempotency (
    user_id    INTEGER NOT NULL REFERENCES user (id),
    route      TEXT NOT NULL,               -- 'POST /api/tubes'
    key        TEXT NOT NULL,               -- the caller's Idempotency-Key
    body_hash  BLOB NOT NULL CHECK (length(body_hash) = 32),
    status     INTEGER NOT NULL,
    reply      TEXT NOT NULL,               -- the reply's body, as it was sent
    location   TEXT,
    etag       TEXT,
    created_ms INTEGER NOT NULL,
    expires_ms INTEGER NOT NULL,            -- created + 30 days
    PRIMARY KEY (user_id, route, key)
) STRICT, WITHOUT ROWID;

CREATE INDEX idempotency_expiry ON idempotency (expires_ms);

CREATE TABLE inspection (
    id      INTEGER PRIMARY KEY,
    tube_id INTEGER NOT NULL REFERENCES tube (id),
    at_ms   INTEGER NOT NULL,
    user_id INTEGER NOT NULL REFERENCES user (id),
    note    TEXT
) STRICT;

CREATE INDEX inspection_tube ON inspection (tube_id, id);

CREATE TRIGGER inspection_no_delete BEFORE DELETE ON inspection
BEGIN SELECT RAISE(ABORT, 'an inspection is never deleted: inspect again'); END;

CREATE TRIGGER inspection_no_update BEFORE UPDATE ON inspection
BEGIN SELECT RAISE(ABORT, 'an inspection is never changed: inspect again'); END;

CREATE TABLE inspection_finding (
    inspection_id INTEGER NOT NULL REFERENCES inspection (id),
    aspect        TEXT NOT NULL,            -- codes of grade/inspection
    finding       TEXT NOT NULL,            -- an aspect may have several
    PRIMARY KEY (inspection_id, aspect, finding)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER finding_no_delete BEFORE DELETE ON inspection_finding
BEGIN SELECT RAISE(ABORT, 'an inspection is never deleted: inspect again'); END;

CREATE TRIGGER finding_no_update BEFORE UPDATE ON inspection_finding
BEGIN SELECT RAISE(ABORT, 'an inspection is never changed: inspect again'); END;

CREATE TABLE job (
    id         INTEGER PRIMARY KEY,
    kind       TEXT NOT NULL,               -- 'match', 'load', 'regrade', 'backup' ...
    state      TEXT NOT NULL CHECK (state IN ('waiting', 'running', 'done', 'failed', 'stopped')),
    user_id    INTEGER NOT NULL REFERENCES user (id),
    asked      TEXT NOT NULL,               -- JSON of the request
    progress   TEXT,                        -- JSON, free
    result     TEXT,                        -- JSON
    problem    TEXT,                        -- a sentence, for 'failed'
    created_ms INTEGER NOT NULL,
    started_ms INTEGER,
    ended_ms   INTEGER
) STRICT;

CREATE INDEX job_state ON job (state, id);

CREATE INDEX job_user ON job (user_id, id);

CREATE TABLE journal (
    seq     INTEGER PRIMARY KEY,            -- 1, 2, 3 ... without gaps
    at_ms   INTEGER NOT NULL,
    user_id INTEGER NOT NULL,               -- no foreign key: the journal outlives the person
    act     TEXT NOT NULL,                  -- 'create', 'change', 'void' ...
    noun    TEXT NOT NULL,                  -- table name
    noun_id INTEGER NOT NULL,
    before  TEXT,                           -- NULL for a creation
    after   TEXT,                           -- NULL for a removal
    hash    BLOB NOT NULL CHECK (length(hash) = 32)  -- SHA-256(previous hash, all the above)
) STRICT;

CREATE INDEX journal_noun ON journal (noun, noun_id, seq);

CREATE TRIGGER journal_no_delete BEFORE DELETE ON journal
BEGIN SELECT RAISE(ABORT, 'the journal is never shortened'); END;

CREATE TRIGGER journal_no_update BEFORE UPDATE ON journal
BEGIN SELECT RAISE(ABORT, 'the journal is never changed'); END;

CREATE TABLE lot (
    id         INTEGER PRIMARY KEY,
    code       TEXT NOT NULL UNIQUE,        -- the dealer's name for it
    title      TEXT NOT NULL,
    bought_day INTEGER,                     -- days
    cost_minor INTEGER CHECK (cost_minor >= 0),
    currency   TEXT CHECK (length(currency) = 3),
    share_rule TEXT NOT NULL DEFAULT 'equal' CHECK (share_rule IN ('equal', 'weight', 'hand')),
    note       TEXT,
    version    INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE TABLE lot_line (
    id       INTEGER PRIMARY KEY,
    lot_id   INTEGER NOT NULL REFERENCES lot (id),
    type_id  INTEGER NOT NULL REFERENCES type (id),
    printed  TEXT NOT NULL,                 -- designation as printed on them
    maker_id INTEGER REFERENCES maker (id),
    count    INTEGER NOT NULL CHECK (count BETWEEN 1 AND 1000000),
    drawn    INTEGER NOT NULL DEFAULT 0,    -- how many became tubes
    note     TEXT,
    version  INTEGER NOT NULL DEFAULT 1,
    CHECK (drawn BETWEEN 0 AND count)
) STRICT;

CREATE INDEX lot_line_lot ON lot_line (lot_id);

CREATE TABLE maker (
    id      INTEGER PRIMARY KEY,
    name    TEXT NOT NULL UNIQUE,
    country TEXT,                           -- ISO 3166-1 alpha-2
    note    TEXT,
    version INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE TABLE matched_set (
    id           INTEGER PRIMARY KEY,
    size         INTEGER NOT NULL CHECK (size BETWEEN 2 AND 64),
    family_id    INTEGER REFERENCES family (id),
    band         TEXT NOT NULL,             -- as asked: 'ia=5%,gm=5%'
    spread       TEXT NOT NULL,             -- JSON: quantity -> highest against lowest
    cost         INTEGER NOT NULL,          -- in the engine's unit
    proposal_id  INTEGER REFERENCES proposal (id),
    made_ms      INTEGER NOT NULL,
    user_id      INTEGER NOT NULL REFERENCES user (id),
    dissolved_ms INTEGER,                   -- since when its tubes are free again
    version      INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE INDEX matched_set_family ON matched_set (family_id, size, id);

CREATE TRIGGER set_member_live_on_dissolve AFTER UPDATE OF dissolved_ms ON matched_set
BEGIN
    UPDATE set_member SET live = (NEW.dissolved_ms IS NULL AND left_ms IS NULL)
     WHERE set_id = NEW.id;
END;

CREATE TABLE number_block (
    id       INTEGER PRIMARY KEY,
    first    INTEGER NOT NULL UNIQUE,       -- payloads, without check digit
    last     INTEGER NOT NULL CHECK (last >= first),
    bench    TEXT NOT NULL,                 -- who holds it
    user_id  INTEGER NOT NULL REFERENCES user (id),
    given_ms INTEGER NOT NULL
) STRICT;

CREATE TABLE order_line (
    id              INTEGER PRIMARY KEY,
    order_id        INTEGER NOT NULL REFERENCES sales_order (id),
    asked           TEXT NOT NULL,          -- the customer's words
    type_id         INTEGER REFERENCES type (id),
    set_size        INTEGER NOT NULL CHECK (set_size BETWEEN 1 AND 64),
    quantity        INTEGER NOT NULL CHECK (quantity BETWEEN 1 AND 10000),  -- how many such sets
    band            TEXT,                   -- NULL: the house's default for the size
    balance         TEXT,                   -- band between sections of one tube
    windows         TEXT,                   -- JSON: quantity -> [low, high], decimal text
    least_grade     TEXT,
    relations       TEXT NOT NULL DEFAULT 'same',  -- accepted ones, joined by ','
    maker_id        INTEGER REFERENCES maker (id),
    construction_id INTEGER REFERENCES construction (id),
    ceiling_minor   INTEGER,                -- the most the customer pays for one set
    price_minor     INTEGER,
    state           TEXT NOT NULL DEFAULT 'waiting'
                    CHECK (state IN ('waiting', 'held', 'shipped', 'cancelled')),
    version         INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE INDEX order_line_order ON order_line (order_id);

CREATE INDEX order_line_waiting ON order_line (type_id, state, id);

CREATE TABLE photo (
    id      INTEGER PRIMARY KEY,
    tube_id INTEGER REFERENCES tube (id),
    hash    BLOB NOT NULL CHECK (length(hash) = 32),  -- SHA-256 of the file kept
    type    TEXT NOT NULL CHECK (type IN ('image/jpeg', 'image/png')),
    width   INTEGER NOT NULL,               -- pixels
    height  INTEGER NOT NULL,
    at_ms   INTEGER NOT NULL,
    note    TEXT
) STRICT;

CREATE INDEX photo_tube ON photo (tube_id, id);

CREATE TABLE price (
    id          INTEGER PRIMARY KEY,
    tube_id     INTEGER UNIQUE REFERENCES tube (id),
    set_id      INTEGER UNIQUE REFERENCES matched_set (id),
    price_minor INTEGER NOT NULL CHECK (price_minor >= 0),
    currency    TEXT NOT NULL CHECK (length(currency) = 3),
    rule_id     INTEGER REFERENCES price_rule (id),  -- NULL: set by hand
    CHECK ((tube_id IS NULL) <> (set_id IS NULL))
) STRICT;

CREATE TABLE price_rule (
    id               INTEGER PRIMARY KEY,
    ord              INTEGER NOT NULL UNIQUE,  -- the first that fits is taken
    type_id          INTEGER REFERENCES type (id),
    maker_id         INTEGER REFERENCES maker (id),
    construction_id  INTEGER REFERENCES construction (id),
    grade            TEXT,
    set_size         INTEGER,
    tightness        TEXT,                  -- band at most, e.g. '2%'
    price_minor      INTEGER,               -- a price ...
    premium_permille INTEGER,               -- ... or a premium on the sum of the members
    currency         TEXT CHECK (length(currency) = 3),
    note             TEXT,
    CHECK ((price_minor IS NULL) <> (premium_permille IS NULL))
) STRICT;

CREATE TABLE proposal (
    id         INTEGER PRIMARY KEY,
    job_id     INTEGER REFERENCES job (id),
    asked      TEXT NOT NULL,               -- JSON: pool, demand, bands, same-ness, seed
    summary    TEXT NOT NULL,               -- JSON: found, bound, cost, proven, why
    state      TEXT NOT NULL CHECK (state IN ('open', 'accepted', 'dropped')),
    created_ms INTEGER NOT NULL,
    user_id    INTEGER NOT NULL REFERENCES user (id),
    settled_ms INTEGER,
    version    INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE TABLE proposal_member (
    proposal_id INTEGER NOT NULL,
    set_no      INTEGER NOT NULL,
    tube_id     INTEGER NOT NULL REFERENCES tube (id),
    position    INTEGER NOT NULL,           -- 1 ... size
    snapshot    TEXT NOT NULL,              -- JSON: the values it was matched by
    PRIMARY KEY (proposal_id, tube_id),
    FOREIGN KEY (proposal_id, set_no) REFERENCES proposal_set (proposal_id, set_no)
) STRICT, WITHOUT ROWID;

CREATE INDEX proposal_member_tube ON proposal_member (tube_id);

CREATE TABLE proposal_set (
    proposal_id INTEGER NOT NULL REFERENCES proposal (id),
    set_no      INTEGER NOT NULL,           -- 1, 2, 3 within the proposal
    size        INTEGER NOT NULL,
    family_id   INTEGER REFERENCES family (id),
    band        TEXT NOT NULL,
    spread      TEXT NOT NULL,              -- JSON: quantity -> highest against lowest
    cost        INTEGER NOT NULL,
    PRIMARY KEY (proposal_id, set_no)
) STRICT, WITHOUT ROWID;

CREATE TABLE quantity (
    code     TEXT PRIMARY KEY,              -- 'ia', 'gm', 'ihk' ...
    name     TEXT NOT NULL,                 -- 'plate current'
    unit     TEXT NOT NULL,                 -- 'mA'; '' for a pure number or steps
    decimals INTEGER NOT NULL CHECK (decimals BETWEEN 0 AND 9),
    better   TEXT NOT NULL CHECK (better IN ('higher', 'lower', 'nearer', 'none')),
    scope    TEXT NOT NULL CHECK (scope IN ('section', 'tube')),
    kind     TEXT NOT NULL CHECK (kind IN ('numeric', 'ordinal')),
    relative INTEGER NOT NULL DEFAULT 0 CHECK (relative IN (0, 1)),  -- a scale without a unit
    least    INTEGER NOT NULL,              -- at decimals: below is impossible
    most     INTEGER NOT NULL,              -- at decimals: above is impossible
    usual_least INTEGER NOT NULL DEFAULT 0, -- at decimals: what common types read; both 0: not
    usual_most  INTEGER NOT NULL DEFAULT 0, -- stated
    steps    TEXT,                          -- ordinal: its places, from the first, joined by '|'
    origin   TEXT NOT NULL CHECK (origin IN ('bundled', 'own'))
) STRICT, WITHOUT ROWID;

CREATE TABLE reading (
    id            INTEGER PRIMARY KEY,
    tube_id       INTEGER NOT NULL REFERENCES tube (id),
    section       INTEGER NOT NULL CHECK (section BETWEEN 0 AND 4),  -- 0: the whole tube
    tester_id     INTEGER NOT NULL REFERENCES tester (id),
    test_point_id INTEGER NOT NULL REFERENCES test_point (id),
    method        TEXT NOT NULL DEFAULT 'direct',  -- where one tester can do it two ways
    taken_ms      INTEGER NOT NULL,
    repeat_no     INTEGER NOT NULL DEFAULT 1 CHECK (repeat_no BETWEEN 1 AND 1000),
    sitting_id    INTEGER NOT NULL REFERENCES sitting (id),
    user_id       INTEGER NOT NULL REFERENCES user (id),
    warm_s        INTEGER CHECK (warm_s >= 0),  -- time on heat, s
    questions     TEXT,                     -- codes of the plausibility rules it was kept against
    recorded_ms   INTEGER NOT NULL,
    voided_ms     INTEGER,
    void_user_id  INTEGER REFERENCES user (id),
    void_reason   TEXT,
    CHECK ((voided_ms IS NULL) = (void_reason IS NULL)),
    CHECK ((voided_ms IS NULL) = (void_user_id IS NULL))
) STRICT;

CREATE UNIQUE INDEX reading_once ON reading (tube_id, section, test_point_id, taken_ms, tester_id,
                                             method, repeat_no) WHERE voided_ms IS NULL;

CREATE INDEX reading_sitting ON reading (sitting_id, id);

CREATE INDEX reading_tester ON reading (tester_id, taken_ms);

CREATE INDEX reading_tube ON reading (tube_id, id);

CREATE TRIGGER reading_fixed BEFORE UPDATE OF id, tube_id, section, tester_id, test_point_id, method,
    taken_ms, repeat_no, sitting_id, user_id, warm_s, questions, recorded_ms ON reading
BEGIN SELECT RAISE(ABORT, 'a reading is never changed: void it and read again'); END;

CREATE TRIGGER reading_no_delete BEFORE DELETE ON reading
BEGIN SELECT RAISE(ABORT, 'a reading is never deleted: void it'); END;

CREATE TRIGGER reading_void_once BEFORE UPDATE ON reading WHEN OLD.voided_ms IS NOT NULL
BEGIN SELECT RAISE(ABORT, 'a voided reading stays voided'); END;

CREATE TABLE reading_value (
    reading_id INTEGER NOT NULL REFERENCES reading (id),
    quantity   TEXT NOT NULL REFERENCES quantity (code),
    typed      TEXT NOT NULL,               -- the decimal as given
    unit       TEXT NOT NULL,               -- its unit as given
    PRIMARY KEY (reading_id, quantity)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER reading_value_no_delete BEFORE DELETE ON reading_value
BEGIN SELECT RAISE(ABORT, 'a reading is never deleted: void it'); END;

CREATE TRIGGER reading_value_no_update BEFORE UPDATE ON reading_value
BEGIN SELECT RAISE(ABORT, 'a reading is never changed: void it and read again'); END;

CREATE TABLE return (
    id          INTEGER PRIMARY KEY,
    shipment_id INTEGER NOT NULL,
    tube_id     INTEGER NOT NULL,
    at_ms       INTEGER NOT NULL,
    reason      TEXT NOT NULL,
    finding     TEXT,                       -- what the retest showed
    user_id     INTEGER NOT NULL REFERENCES user (id),
    FOREIGN KEY (shipment_id, tube_id) REFERENCES shipment_tube (shipment_id, tube_id)
) STRICT;

CREATE INDEX return_tube ON return (tube_id);

CREATE TABLE sales_order (
    id          INTEGER PRIMARY KEY,
    outside_ref TEXT UNIQUE,                -- the shop's own number: the same order twice is one
    customer_id INTEGER REFERENCES customer (id),
    state       TEXT NOT NULL DEFAULT 'draft'
                CHECK (state IN ('draft', 'open', 'allocated', 'picked', 'packed', 'shipped',
                                 'closed', 'cancelled')),
    currency    TEXT CHECK (length(currency) = 3),
    due_day     INTEGER,
    priority    INTEGER NOT NULL DEFAULT 0, -- higher first
    note        TEXT,
    created_ms  INTEGER NOT NULL,
    version     INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE INDEX sales_order_customer ON sales_order (customer_id);

CREATE INDEX sales_order_state ON sales_order (state, id);

CREATE TABLE saved_view (
    id      INTEGER PRIMARY KEY,
    user_id INTEGER NOT NULL REFERENCES user (id),
    noun    TEXT NOT NULL,                  -- which list
    title   TEXT NOT NULL,
    query   TEXT NOT NULL,                  -- the list's query string
    UNIQUE (user_id, noun, title)
) STRICT;

CREATE TABLE session (
    id         INTEGER PRIMARY KEY,
    user_id    INTEGER NOT NULL REFERENCES user (id) ON DELETE CASCADE,
    token_hash BLOB NOT NULL UNIQUE CHECK (length(token_hash) = 32),  -- SHA-256 of the cookie's value
    created_ms INTEGER NOT NULL,
    seen_ms    INTEGER NOT NULL,
    expires_ms INTEGER NOT NULL
) STRICT;

CREATE INDEX session_user ON session (user_id);

CREATE TABLE set_member (
    set_id   INTEGER NOT NULL REFERENCES matched_set (id),
    tube_id  INTEGER NOT NULL REFERENCES tube (id),
    position INTEGER NOT NULL,              -- 1 ... size
    snapshot TEXT NOT NULL,                 -- JSON: the values it was matched by
    left_ms  INTEGER,                       -- taken out (replaced)
    live     INTEGER NOT NULL DEFAULT 1 CHECK (live IN (0, 1)),  -- kept by the triggers below
    PRIMARY KEY (set_id, tube_id)
) STRICT, WITHOUT ROWID;

CREATE UNIQUE INDEX set_member_live ON set_member (tube_id) WHERE live = 1;

CREATE INDEX set_member_tube ON set_member (tube_id);

CREATE TRIGGER set_member_live_guard BEFORE UPDATE OF live ON set_member
WHEN NEW.live <> (NEW.left_ms IS NULL
                  AND (SELECT dissolved_ms IS NULL FROM matched_set WHERE id = NEW.set_id))
BEGIN SELECT RAISE(ABORT, 'live of a set member follows its set'); END;

CREATE TRIGGER set_member_live_on_insert BEFORE INSERT ON set_member
WHEN NEW.live <> (NEW.left_ms IS NULL
                  AND (SELECT dissolved_ms IS NULL FROM matched_set WHERE id = NEW.set_id))
BEGIN SELECT RAISE(ABORT, 'live of a set member follows its set'); END;

CREATE TRIGGER set_member_live_on_left AFTER UPDATE OF left_ms ON set_member
BEGIN
    UPDATE set_member SET live = (NEW.left_ms IS NULL AND
           (SELECT dissolved_ms IS NULL FROM matched_set WHERE id = NEW.set_id))
     WHERE set_id = NEW.set_id AND tube_id = NEW.tube_id;
END;

CREATE TABLE setting (
    key   TEXT PRIMARY KEY,                 -- 'currency', 'dealer.name' ...
    value TEXT NOT NULL                     -- text; numbers as decimal text
) STRICT, WITHOUT ROWID;

CREATE TABLE shipment (
    id         INTEGER PRIMARY KEY,
    order_id   INTEGER NOT NULL REFERENCES sales_order (id),
    shipped_ms INTEGER,                     -- NULL: being packed
    carrier    TEXT,
    tracking   TEXT,
    weight_g   INTEGER,                     -- g
    note       TEXT
) STRICT;

CREATE INDEX shipment_order ON shipment (order_id);

CREATE TABLE shipment_tube (
    shipment_id   INTEGER NOT NULL REFERENCES shipment (id),
    tube_id       INTEGER NOT NULL REFERENCES tube (id),
    order_line_id INTEGER NOT NULL REFERENCES order_line (id),
    set_id        INTEGER REFERENCES matched_set (id),
    price_minor   INTEGER,                  -- its part of the line's price
    returned_ms   INTEGER,
    live          INTEGER NOT NULL DEFAULT 1 CHECK (live IN (0, 1)),  -- kept by the trigger below
    PRIMARY KEY (shipment_id, tube_id)
) STRICT, WITHOUT ROWID;

CREATE INDEX shipment_tube_line ON shipment_tube (order_line_id);

CREATE UNIQUE INDEX shipment_tube_live ON shipment_tube (tube_id) WHERE live = 1;

CREATE INDEX shipment_tube_set ON shipment_tube (set_id) WHERE set_id IS NOT NULL;

CREATE INDEX shipment_tube_tube ON shipment_tube (tube_id);

CREATE TRIGGER shipment_live_guard BEFORE UPDATE OF live ON shipment_tube
WHEN NEW.live <> (NEW.returned_ms IS NULL)
BEGIN SELECT RAISE(ABORT, 'live of a shipped tube follows its return'); END;

CREATE TRIGGER shipment_live_on_insert BEFORE INSERT ON shipment_tube
WHEN NEW.live <> (NEW.returned_ms IS NULL)
BEGIN SELECT RAISE(ABORT, 'live of a shipped tube follows its return'); END;

CREATE TRIGGER shipment_live_on_return AFTER UPDATE OF returned_ms ON shipment_tube
BEGIN
    UPDATE shipment_tube SET live = (NEW.returned_ms IS NULL)
     WHERE shipment_id = NEW.shipment_id AND tube_id = NEW.tube_id;
END;

CREATE TABLE sitting (
    id        INTEGER PRIMARY KEY,
    tester_id INTEGER NOT NULL REFERENCES tester (id),
    user_id   INTEGER NOT NULL REFERENCES user (id),
    began_ms  INTEGER NOT NULL,
    ended_ms  INTEGER,
    label     TEXT,                         -- the caller's own name of it, unique at a tester
    note      TEXT,
    UNIQUE (tester_id, label)
) STRICT;

CREATE INDEX sitting_user ON sitting (user_id, id);

CREATE TABLE standing (
    tube_id        INTEGER NOT NULL REFERENCES tube (id),
    section        INTEGER NOT NULL,
    quantity       TEXT NOT NULL REFERENCES quantity (code),
    test_point_id  INTEGER NOT NULL REFERENCES test_point (id),
    method         TEXT NOT NULL,
    anode_pin      INTEGER,                 -- the section by its pin, to compare across systems
    value          INTEGER NOT NULL,        -- at the quantity's decimals
    u_milli        INTEGER,                 -- own standard uncertainty, thousandths of a last place
    u_cal_milli    INTEGER,                 -- the calibration's, likewise
    calibration_id INTEGER REFERENCES calibration (id),
    tester_id      INTEGER NOT NULL REFERENCES tester (id),
    sitting_id     INTEGER NOT NULL REFERENCES sitting (id),
    repeats        INTEGER NOT NULL CHECK (repeats >= 1),
    questioned     INTEGER NOT NULL CHECK (questioned IN (0, 1)),
    taken_ms       INTEGER NOT NULL,        -- of the last repeat
    PRIMARY KEY (tube_id, section, quantity, test_point_id, method)
) STRICT, WITHOUT ROWID;

CREATE TABLE study (
    id        INTEGER PRIMARY KEY,
    tester_id INTEGER NOT NULL REFERENCES tester (id),
    quantity  TEXT NOT NULL REFERENCES quantity (code),
    at_ms     INTEGER NOT NULL,
    user_id   INTEGER NOT NULL REFERENCES user (id),
    data      TEXT NOT NULL,                -- JSON: tubes, people, repeats
    result    TEXT NOT NULL                 -- JSON: variance components
) STRICT;

CREATE INDEX study_tester ON study (tester_id, at_ms);

CREATE TABLE test_point (
    id      INTEGER PRIMARY KEY,
    type_id INTEGER NOT NULL REFERENCES type (id),
    code    TEXT NOT NULL,                  -- short name, unique within the type
    title   TEXT NOT NULL,
    section TEXT CHECK (section IN ('t', 'p')),  -- of a triode-pentode; NULL: any section
    held    TEXT NOT NULL CHECK (held IN ('grid', 'current', 'cathode', 'none')),
                                            -- what is held: grid volts, plate current set by the
                                            -- grid, a cathode resistor, nothing (no grid)
    va_v TEXT, vg2_v TEXT, vg1_v TEXT,      -- V
    rk_ohm TEXT, ia_ma TEXT, heater_v TEXT, -- ohm, mA, V; all decimal text
    warm_s  INTEGER CHECK (warm_s BETWEEN 0 AND 86400),  -- time on heat before reading, s
    source  TEXT,
    found_where TEXT,                       -- address of the page read
    how     TEXT NOT NULL CHECK (how IN ('found', 'memory', 'own')),
    origin  TEXT NOT NULL CHECK (origin IN ('bundled', 'own')),
    retired_ms INTEGER,                     -- no new readings at it
    UNIQUE (type_id, code)
) STRICT;

CREATE TABLE test_point_quantity (
    test_point_id INTEGER NOT NULL REFERENCES test_point (id),
    quantity      TEXT NOT NULL REFERENCES quantity (code),
    nominal       INTEGER,                  -- at the quantity's decimals
    low           INTEGER,                  -- limits, inclusive; NULL: none published
    high          INTEGER,
    source        TEXT,
    found_where   TEXT,                     -- address of the page read
    how           TEXT NOT NULL CHECK (how IN ('found', 'memory', 'own')),
    PRIMARY KEY (test_point_id, quantity),
    CHECK (low IS NULL OR high IS NULL OR low <= high)
) STRICT, WITHOUT ROWID;

CREATE TABLE tester (
    id         INTEGER PRIMARY KEY,
    code       TEXT NOT NULL UNIQUE,        -- the dealer's name for it
    title      TEXT NOT NULL,
    suspect_ms INTEGER,                     -- since when its readings are in doubt
    retired_ms INTEGER,
    note       TEXT,
    version    INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE TABLE tester_quantity (
    tester_id     INTEGER NOT NULL REFERENCES tester (id),
    quantity      TEXT NOT NULL REFERENCES quantity (code),
    unit          TEXT NOT NULL,            -- what its scale shows
    low           TEXT,                     -- range in that unit, decimal text
    high          TEXT,
    resolution    TEXT,                     -- smallest step in that unit
    repeatability TEXT,                     -- standard deviation: '0.05' in that unit, or '2%'
    relative      INTEGER NOT NULL DEFAULT 0 CHECK (relative IN (0, 1)),
                                            -- an arbitrary scale: means nothing until calibrated
    PRIMARY KEY (tester_id, quantity)
) STRICT, WITHOUT ROWID;

CREATE TABLE tube (
    id              INTEGER PRIMARY KEY,    -- payload of the stock number
    stock_no        INTEGER NOT NULL UNIQUE,-- payload and ISO/IEC 7064 MOD 11,10 check digit
    type_id         INTEGER NOT NULL REFERENCES type (id),
    family_id       INTEGER REFERENCES family (id),  -- the type's, kept by trigger
    printed         TEXT NOT NULL,          -- designation as printed on it
    maker_id        INTEGER REFERENCES maker (id),
    construction_id INTEGER REFERENCES construction (id),
    date_text       TEXT,                   -- date code as printed
    made_first_day  INTEGER,                -- the window it stands for
    made_last_day   INTEGER,
    lot_id          INTEGER REFERENCES lot (id),
    lot_line_id     INTEGER REFERENCES lot_line (id),
    share_minor     INTEGER,                -- its share of the lot's cost
    bin_id          INTEGER REFERENCES bin (id),
    history         TEXT NOT NULL DEFAULT 'unknown'
                    CHECK (history IN ('unused', 'used', 'unknown')),
    history_word    TEXT,                   -- on whose word
    outside_mark    TEXT UNIQUE,            -- another house's or the dealer's older number on it
    note            TEXT,
    state           TEXT NOT NULL DEFAULT 'received'
                    CHECK (state IN ('received', 'inspected', 'tested', 'shelved', 'shipped',
                                     'returned', 'scrapped', 'check-tube')),
    grade           TEXT,                   -- the latest grading's
    grading_id      INTEGER REFERENCES grading (id),
    unconfirmed     INTEGER NOT NULL DEFAULT 0 CHECK (unconfirmed IN (0, 1)),
                                            -- late plausibility questions wait for an answer
    created_ms      INTEGER NOT NULL,
    version         INTEGER NOT NULL DEFAULT 1,
    CHECK (stock_no / 10 = id),
    CHECK (made_first_day IS NULL OR made_last_day IS NULL OR made_first_day <= made_last_day)
) STRICT;

CREATE INDEX tube_bin ON tube (bin_id, id);

CREATE INDEX tube_family ON tube (family_id, id);

CREATE INDEX tube_grade ON tube (grade, id);

CREATE INDEX tube_lot ON tube (lot_id, id);

CREATE INDEX tube_lot_line ON tube (lot_line_id, id);

CREATE INDEX tube_maker ON tube (maker_id, id);

CREATE INDEX tube_state ON tube (state, id);

CREATE INDEX tube_type ON tube (type_id, id);

CREATE TRIGGER tube_family_on_insert AFTER INSERT ON tube
BEGIN
    UPDATE tube SET family_id = (SELECT family_id FROM type WHERE id = NEW.type_id)
     WHERE id = NEW.id;
END;

CREATE TRIGGER tube_family_on_type AFTER UPDATE OF type_id ON tube
BEGIN
    UPDATE tube SET family_id = (SELECT family_id FROM type WHERE id = NEW.type_id)
     WHERE id = NEW.id;
END;

CREATE TRIGGER tube_move BEFORE UPDATE OF state ON tube
WHEN NEW.state IS NOT OLD.state
BEGIN
    SELECT RAISE(ABORT, 'a received tube may only become inspected, tested, shelved or scrapped')
    WHERE OLD.state = 'received' AND NEW.state NOT IN ('inspected', 'tested', 'shelved', 'scrapped');
    SELECT RAISE(ABORT, 'an inspected tube may only become tested, shelved or scrapped')
    WHERE OLD.state = 'inspected' AND NEW.state NOT IN ('tested', 'shelved', 'scrapped');
    SELECT RAISE(ABORT, 'a tested tube may only become shelved, shipped, scrapped or check-tube')
    WHERE OLD.state = 'tested' AND NEW.state NOT IN ('shelved', 'shipped', 'scrapped', 'check-tube');
    SELECT RAISE(ABORT, 'a shelved tube may only become tested, shipped, scrapped or check-tube')
    WHERE OLD.state = 'shelved' AND NEW.state NOT IN ('tested', 'shipped', 'scrapped', 'check-tube');
    SELECT RAISE(ABORT, 'a shipped tube may only become shelved or returned')
    WHERE OLD.state = 'shipped' AND NEW.state NOT IN ('shelved', 'returned');
    SELECT RAISE(ABORT, 'a returned tube may only become inspected, tested or scrapped')
    WHERE OLD.state = 'returned' AND NEW.state NOT IN ('inspected', 'tested', 'scrapped');
    SELECT RAISE(ABORT, 'a scrapped tube may only become received')
    WHERE OLD.state = 'scrapped' AND NEW.state NOT IN ('received');
    SELECT RAISE(ABORT, 'a check-tube may only become tested or scrapped')
    WHERE OLD.state = 'check-tube' AND NEW.state NOT IN ('tested', 'scrapped');
END;

CREATE TRIGGER tube_no_delete BEFORE DELETE ON tube
BEGIN SELECT RAISE(ABORT, 'a tube is never deleted: scrap it'); END;

CREATE TRIGGER tube_number_fixed BEFORE UPDATE OF id, stock_no ON tube
WHEN OLD.id <> NEW.id OR OLD.stock_no <> NEW.stock_no
BEGIN SELECT RAISE(ABORT, 'a stock number is never changed'); END;

CREATE TRIGGER tube_starts BEFORE INSERT ON tube WHEN NEW.state <> 'received'
BEGIN SELECT RAISE(ABORT, 'a tube starts as received'); END;

CREATE TABLE type (
    id           INTEGER PRIMARY KEY,
    designation  TEXT NOT NULL UNIQUE,      -- the main spelling
    family_id    INTEGER REFERENCES family (id),
    system       TEXT,                      -- 'RETMA', 'European', 'GOST' ...; NULL unknown
    class        TEXT,                      -- 'twin triode', 'rectifier full-wave' ...
    sections     INTEGER CHECK (sections BETWEEN 1 AND 4),
    heating      TEXT CHECK (heating IN ('indirect', 'direct', 'cold')),
    heater_v     TEXT, heater_a TEXT,       -- V, A (series figures of a tapped heater)
    base         TEXT,
    pins         TEXT,                      -- 'pin=electrode;...'
    top_cap      TEXT,
    envelope     TEXT,
    max_va_v     TEXT, max_pa_w TEXT,       -- V; W per section
    max_vg2_v    TEXT, max_pg2_w TEXT,      -- V, W
    max_vhk_v    TEXT,                      -- V
    va_v         TEXT, vg2_v TEXT, vg1_v TEXT, rk_ohm TEXT,  -- published operating point
    ia_ma        TEXT, ig2_ma TEXT,         -- mA per section
    gm_ma_per_v  TEXT, mu TEXT, rp_kohm TEXT,
    load_kohm    TEXT, po_w TEXT,
    section2     TEXT,                      -- data of a dissimilar second section, free text
    cyrillic     TEXT,
    notes        TEXT,
    source       TEXT,                      -- publication
    how          TEXT NOT NULL CHECK (how IN ('found', 'memory', 'own')),
    found_fields TEXT NOT NULL DEFAULT '',  -- 'heater_v;heater_a;...'
    found_where  TEXT,                      -- address of the page read
    origin       TEXT NOT NULL CHECK (origin IN ('bundled', 'own')),
    version      INTEGER NOT NULL DEFAULT 1
) STRICT;

CREATE INDEX type_family ON type (family_id);

CREATE TRIGGER tube_family_on_family AFTER UPDATE OF family_id ON type
WHEN OLD.family_id IS NOT NEW.family_id
BEGIN
    UPDATE tube SET family_id = NEW.family_id WHERE type_id = NEW.id;
END;

CREATE TABLE user (
    id            INTEGER PRIMARY KEY,      -- 1 is the command line on its own data folder
    name          TEXT NOT NULL UNIQUE CHECK (length(name) BETWEEN 1 AND 64),  -- folded sign-in name
    shown         TEXT NOT NULL,            -- name as shown
    role          TEXT NOT NULL CHECK (role IN ('owner', 'bench', 'counter', 'viewer')),
    password_hash TEXT,                     -- argon2id, encoded; NULL: cannot sign in
    created_ms    INTEGER NOT NULL,
    disabled_ms   INTEGER,                  -- NULL: may sign in
    version       INTEGER NOT NULL DEFAULT 1
) STRICT;
