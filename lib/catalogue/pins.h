/* SPDX-License-Identifier: MIT
 *
 * pins: bases, and which electrode comes out on which pin.
 *
 * Written as pin=electrode pairs joined by ";", several electrodes of one pin by ",":
 *
 *     1=a.2;2=g1.2;3=k.2;4=h;5=h;6=a.1;7=g1.1;8=k.1;9=hct
 *     2=h;3=k,bp;5=g1;7=h;8=g2;tc=a
 *
 * ".1" ".2" are sections, ".t" ".p" the triode and the pentode of one bulb; "tc" is the top cap.  A
 * pin that is not listed is not stated, which is not the same as not connected (nc).
 */
#ifndef QUADRILLE_CATALOGUE_PINS_H
#define QUADRILLE_CATALOGUE_PINS_H

#include "base/err.h"

enum electrode {
    ELECTRODE_A,  /* anode */
    ELECTRODE_G1, /* control grid */
    ELECTRODE_G2, /* screen grid */
    ELECTRODE_G3, /* suppressor, or third grid */
    ELECTRODE_G4, /* further grids of mixers */
    ELECTRODE_G5,
    ELECTRODE_G6,
    ELECTRODE_K,      /* cathode */
    ELECTRODE_H,      /* heater end */
    ELECTRODE_F,      /* filament end (it is the cathode too) */
    ELECTRODE_HCT,    /* heater tap */
    ELECTRODE_FCT,    /* filament tap */
    ELECTRODE_BP,     /* beam plates */
    ELECTRODE_S,      /* internal screen */
    ELECTRODE_SH,     /* metal shell */
    ELECTRODE_BS,     /* base shell */
    ELECTRODE_D,      /* diode anode */
    ELECTRODE_T,      /* luminous target */
    ELECTRODE_DP,     /* deflector */
    ELECTRODE_ST,     /* starter of a cold-cathode tube */
    ELECTRODE_JUMPER, /* one end of a link inside the base */
    ELECTRODE_NC,     /* not connected */
    ELECTRODE_IC,     /* internal connection: leave free */
    ELECTRODE__COUNT
};

#define PIN_ELECTRODES 4  /* the most on one pin */
#define PINOUT_PINS    16 /* the most listed */
#define PIN_TOP_CAP    0  /* the number of the cap */

struct pin {
    int number; /* 1.., or PIN_TOP_CAP */
    size_t count;
    struct {
        enum electrode electrode;
        char section; /* '1' '2' '3', 't', 'p'; 0 where it belongs to the whole tube */
    } on[PIN_ELECTRODES];
};

struct pinout {
    size_t count; /* 0: not known */
    struct pin pin[PINOUT_PINS];
};

struct base {
    const char *name; /* as the catalogue writes it */
    int pins;         /* positions of the base; 0: flying leads, number varies */
    int socket;       /* bases of one socket number fit the same socket */
};

/* The row of a base by name, NULL when the base is not known. */
const struct base *base_find(const char *name);

/* "a", "g1", "hct" ... */
const char *electrode_name(enum electrode e);

/* Read the notation.  base may be NULL (pins are then taken up to PINOUT_PINS).  ERR_INVALID, e->at
 * = byte offset: no "=", unknown electrode or section, a pin twice, a pin beyond the base. */
MUST_USE bool pinout_parse(struct pinout *out, const char *text, const struct base *base,
                           struct err *e);

/* The listed pin of that number, NULL when not listed. */
const struct pin *pinout_pin(const struct pinout *p, int number);

/* Does any pin carry the electrode? */
bool pinout_has(const struct pinout *p, enum electrode e);

/* What happens at one pin when a tube wired as b is put where one wired as a was. */
enum pin_risk {
    PIN_HARMLESS, /* the same circuit, or a difference in shell and screen only */
    PIN_WORK, /* works after a look or a wire: an electrode newly brought out, a duplicate lost */
    PIN_WRONG /* an electrode meets what was meant for another, or is not reached at all */
};

struct pin_change {
    int number;         /* the pin, PIN_TOP_CAP the cap */
    enum pin_risk risk; /* never PIN_HARMLESS */
    char text[120];     /* "pin 9: heater tap becomes internal screen" */
};

/* The pins that differ, by electrode and pin; section numbers are ignored (makers and systems
 * number them differently), only which pins belong together counts.  A filament end counts as
 * heater and cathode.  At most `room` are written; the count is returned.  Both must be known
 * (count > 0). */
size_t pinout_changes(struct pin_change *out, size_t room, const struct pinout *a,
                      const struct pinout *b);

/* "4 and 5" etc. of an electrode: write its pin numbers ("cap" for the top cap), "none" when on no
 * pin.  buf needs PINS_PRINT_BYTES; returns buf. */
#define PINS_PRINT_BYTES 80
const char *pins_print(char *buf, const struct pinout *p, enum electrode e);

#endif
