#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Writes the files of the invented dealer, the same bytes every time.

usage: python3 seed-data/demo/generate.py [FOLDER]      (default: the folder of this script)

The demo does not need this script: its files are committed.  It is here so that everybody can see
how the figures were made and make other ones.  Standard library only.

How the spread is made
----------------------
A tube's plate current is  nominal * group * tube * wear,  and so is its transconductance.  All
factors are 1 + s * z, z a sum of twelve uniform numbers less six: close to a normal deviate, never
beyond 6, and free of library functions whose last digit differs from machine to machine.

  group  one draw for each maker, type and lot.  s = 6 % on current, 3 % on transconductance:
         house rule; batches differ less than tubes do.
  tube   s = 10 % on current, and 5 % on transconductance beyond what follows from the current.
         Source: data-book and military limits of +-20 to 40 % on current and +-20 to 30 % on
         transconductance (data books and MIL-E-1 sheets, from
         memory), read here as three standard deviations.  Power tubes get 12 % on current: in one
         published lot of 25 the highest current was about twice the lowest
         (http://www.boiaudioworks.com/powertubematching.htm), which is 17 % and thought extreme.
  gm     follows the current with the exponent 0.4 (1/3 from the three-halves law, a little more in
         real tubes: Radiotron Designer's Handbook, 4th ed., ch. 2, from memory), so that current
         and transconductance of new tubes correlate at about 0.6.
  twins  seven tenths of a tube's deviation are common to its sections: 0.7 is a house rule; a
         section balance within 10 % is then common, within 5 % not, as practice has it.
  wear   1 for unused tubes, down to 0.35: end of life is at 65 to 70 % of nominal (service
         practice, from memory).  Current falls somewhat less than transconductance.
  tester repeatability 1 % on current and 2.5 % on transconductance at the bench tester, 4 % at the
         portable one (test practice: 1 to 2 % and 3 to 5 % on a sound instrument, from memory).
         The portable one reads 4 % high on average (instruments differ by 10 to 20 %).
  faults shorts, gas, leakage, air, a dead section and false labels in one to two of a hundred
         each: house rule.
"""
import json
import os
import random
import sys

SEED = 20261124

# ---- the invented house --------------------------------------------------------------------------

# name, country, note.  All invented.
MAKERS = [
    ('Brunnacker Röhrenwerk', 'DE', 'marks its systems with a red dot on the mica'),
    ('Vlietstra Radiobuizen', 'NL', ''),
    ('Ashlode Valve Works', 'GB', ''),
    ('Pennoquin Electric', 'US', 'codes are year and week'),
    ('Osawattle Radio Tube', 'US', ''),
    ('Břehovan Elektronky', 'CZ', ''),
    ('Kisvölgy Rádiócső', 'HU', ''),
    ('Hoshikura Denki', 'JP', 'no date codes'),
    ('Завод «Снежень»', 'RU', 'acceptance stamp and month in Roman figures'),
    ('Завод «Ловатка»', 'BY', 'acceptance stamp and quarter'),
]
BRU, VLI, ASH, PEN, OSA, BRE, KIS, HOS, SNE, LOV = [m[0] for m in MAKERS]

# Sign-in name, role, name as shown.
PEOPLE = [('ottoline', 'owner', 'Ottoline Sprake'), ('jonas', 'bench', 'Jonas Vandermolen'),
          ('mirela', 'counter', 'Mirela Oskoy')]

# code, title, bought, cost in cents, note; new / used / worn / tired in percent of its tubes
LOTS = [
    ('L-2024-11', 'Cellar of a closed radio shop in Tarnholt', '2024-11-09', 148000,
     'shelf stock and takings from repairs', (62, 24, 10, 4)),
    ('L-2025-02', 'Sealed cartons from a depot sale at Grauwiek', '2025-02-17', 212000,
     'cartons opened by us', (96, 3, 1, 0)),
    ('L-2025-05', 'Estate of an organ builder of Lindmoor', '2025-05-23', 96000,
     'pulled from instruments', (15, 52, 24, 9)),
    ('L-2025-09', 'Spares of a broadcasting house', '2025-09-05', 187500,
     'changed by the calendar and not for wear', (48, 46, 5, 1)),
    ('L-2026-01', 'Last shelf of a wholesaler in Kreuzbrunn', '2026-01-30', 301000,
     'original boxes', (94, 4, 2, 0)),
    ('L-2026-03', 'Two suitcases from Belozhny', '2026-03-14', 84000,
     'boxes with acceptance slips', (84, 10, 5, 1)),
    ('L-2026-06', 'Clearance of an amplifier workshop', '2026-06-27', 173000,
     'tested by its owner and never booked', (40, 38, 16, 6)),
    ('L-2026-11', 'Three boxes from the Orrenby autumn fair', '2026-11-21', 41000,
     'the fresh batch', (70, 15, 10, 5)),
]
CEL, DEP, ORG, BRO, WHO, SUI, WOR, FAIR = [l[0] for l in LOTS]

# lot, designation as printed, maker, pieces: bought and not looked at yet
LINES = [
    (DEP, '6Н8С', SNE, 120), (DEP, '6П3С-Е', SNE, 60), (DEP, '6Ж32П', LOV, 200),
    (WHO, 'ECC83', BRU, 50), (WHO, 'EL84', VLI, 100), (WHO, 'EZ81', BRU, 80),
    (SUI, '6П14П', SNE, 140), (SUI, '6Н2П', SNE, 90), (SUI, 'СГ1П', LOV, 40),
    (BRO, '6922', PEN, 24), (BRO, 'EF80', KIS, 300),
]

# What is measured: nominal current mA, nominal transconductance mA/V, sections, heater mA, base,
# code of the test point.  Nominals as in seed-data/catalogue for the same designation.
TYPES = {
    '12AX7': (1.2, 1.6, 2, 150, 'glass', 'grid'), 'ECC83': (1.2, 1.6, 2, 150, 'glass', 'grid'),
    '6Н2П': (2.3, 2.1, 2, 340, 'glass', 'grid'), '12AU7': (10.5, 2.2, 2, 150, 'glass', 'grid'),
    'ECC82': (10.5, 2.2, 2, 150, 'glass', 'grid'), '12AT7': (10, 5.5, 2, 150, 'glass', 'cathode'),
    '6922': (15, 12.5, 2, 300, 'glass', 'grid'), 'ECC88': (15, 12.5, 2, 365, 'glass', 'grid'),
    '6Н23П': (15, 12.5, 2, 310, 'glass', 'grid'), '6SN7GT': (9, 2.6, 2, 600, 'octal', 'grid'),
    '6Н8С': (9, 2.6, 2, 600, 'octal', 'grid'), '6SL7GT': (2.3, 1.6, 2, 300, 'octal', 'grid'),
    '6Н9С': (2.3, 1.6, 2, 300, 'octal', 'grid'), '6Н1П': (7.5, 4.35, 2, 600, 'glass', 'cathode'),
    'EF86': (3.0, 2.0, 1, 200, 'glass', 'grid'), '6Ж32П': (3.0, 1.8, 1, 200, 'glass', 'grid'),
    'EF80': (10, 7.4, 1, 300, 'glass', 'grid'), 'EL84': (48, 11.3, 1, 760, 'glass', 'grid'),
    '6BQ5': (48, 11.3, 1, 760, 'glass', 'grid'), '6П14П': (48, 11.3, 1, 760, 'glass', 'cathode'),
    '6V6GT': (45, 4.1, 1, 450, 'octal', 'grid'), '6П6С': (45, 4.1, 1, 450, 'octal', 'grid'),
    'EL34': (100, 11, 1, 1500, 'octal', 'grid'), '6CA7': (100, 11, 1, 1500, 'octal', 'grid'),
    '6L6GC': (72, 6.0, 1, 900, 'octal', 'grid'), '6П3С-Е': (73, 6.0, 1, 900, 'octal', 'grid'),
    'KT88': (140, 11.5, 1, 1600, 'octal', 'grid'),
    # rectifiers: current per anode at the owner's own test point
    'GZ34': (100, 0, 2, 1900, 'octal', 'house'), '5AR4': (100, 0, 2, 1900, 'octal', 'house'),
    '5Ц3С': (70, 0, 2, 3000, 'octal', 'house'), '5U4GB': (84, 0, 2, 3000, 'octal', 'house'),
    'EZ81': (62, 0, 2, 1000, 'glass', 'house'),
    # regulators: striking and regulating volts
    '0A2': (156, 150, 0, 0, 'glass', 'house'), 'СГ1П': (160, 150, 0, 0, 'glass', 'house'),
    # indicators: grid volts at which the eye closes
    'EM84': (22, 0, 0, 270, 'glass', 'house'), '6Е5С': (8, 0, 0, 300, 'octal', 'house'),
}
RECTIFIERS = ('GZ34', '5AR4', '5Ц3С', '5U4GB', 'EZ81')
DIRECT = ('5Ц3С', '5U4GB')  # no heater-cathode leakage to test
REGULATORS = ('0A2', 'СГ1П')
INDICATORS = ('EM84', '6Е5С')
POWER = ('EL84', '6BQ5', '6П14П', '6V6GT', '6П6С', 'EL34', '6CA7', '6L6GC', '6П3С-Е', 'KT88')

# printed, maker, how it is built, bin, [(lot, tubes)]
STOCK = [
    ('12AX7', PEN, 'long grey plates and ring getter', 'A1', [(CEL, 30), (WHO, 34)]),
    ('12AX7', OSA, 'short black plates and halo getter', 'A1', [(ORG, 36)]),
    ('ECC83', BRU, 'ribbed plates and ring getter', 'A2', [(WHO, 46), (CEL, 24)]),
    ('ECC83', VLI, 'short grey plates and disc getter', 'A2', [(BRO, 36)]),
    ('ECC83', BRE, 'long grey plates and square getter', 'A3', [(CEL, 20), (ORG, 24)]),
    ('6Н2П', SNE, 'grey plates and ring getter', 'A4', [(SUI, 40)]),
    ('12AU7', PEN, 'black plates and ring getter', 'A5', [(CEL, 22), (WHO, 18)]),
    ('ECC82', BRU, 'ribbed plates and ring getter', 'A5', [(WHO, 40)]),
    ('12AT7', OSA, 'black plates and halo getter', 'A6', [(CEL, 30)]),
    ('6922', PEN, 'frame grid and gold pins', 'B1', [(BRO, 30)]),
    ('ECC88', VLI, 'frame grid and ring getter', 'B1', [(BRO, 30)]),
    ('6Н23П', LOV, 'frame grid and ring getter', 'B2', [(SUI, 40)]),
    ('6SN7GT', OSA, 'black T plates and bottom getter', 'B3', [(CEL, 40)]),
    ('6Н8С', SNE, 'grey plates and metal collar', 'B4', [(DEP, 50)]),
    ('6SL7GT', PEN, 'black plates and bottom getter', 'B5', [(ORG, 20)]),
    ('6Н9С', SNE, 'grey plates and metal collar', 'B5', [(DEP, 30)]),
    ('6Н1П', LOV, 'grey plates and ring getter', 'B6', [(SUI, 30)]),
    ('EF86', ASH, 'mesh screen and ring getter', 'C1', [(BRO, 24)]),
    ('6Ж32П', LOV, 'mesh screen and ring getter', 'C1', [(DEP, 30)]),
    ('EF80', KIS, 'mesh screen and halo getter', 'C2', [(BRO, 20)]),
    ('EL84', BRU, 'grey plates and ring getter', 'D1', [(WHO, 52), (CEL, 28)]),
    ('EL84', VLI, 'grey plates and disc getter', 'D2', [(ORG, 26), (BRO, 24)]),
    ('EL84', KIS, 'black plates and halo getter', 'D2', [(WOR, 30)]),
    ('6BQ5', OSA, 'black plates and halo getter', 'D3', [(WOR, 40)]),
    ('6П14П', SNE, 'black plates and ring getter', 'D4', [(SUI, 60)]),
    ('6V6GT', PEN, 'coated plates and bottom getter', 'E1', [(WOR, 40)]),
    ('6П6С', LOV, 'black plates and two top getters', 'E2', [(DEP, 36), (SUI, 24)]),
    ('EL34', BRU, 'grey plates and two ring getters', 'E3', [(WHO, 30), (WOR, 20)]),
    ('EL34', BRE, 'black plates and three ring getters', 'E4', [(WOR, 40)]),
    ('6CA7', HOS, 'grey beam plates and top getter', 'E4', [(WOR, 24)]),
    ('6L6GC', PEN, 'black plates and two side getters', 'E5', [(WOR, 30)]),
    ('6П3С-Е', SNE, 'black plates and two top getters', 'E6', [(DEP, 40)]),
    ('KT88', ASH, 'grey plates and three getters', 'E7', [(WOR, 24)]),
    ('GZ34', VLI, 'notched plates and D getters', 'F1', [(WOR, 30)]),
    ('GZ34', ASH, 'straight plates and D getters', 'F1', [(BRO, 16)]),
    ('5AR4', HOS, 'straight plates and bottom getter', 'F2', [(WOR, 16)]),
    ('5Ц3С', SNE, 'flat black plates', 'F2', [(DEP, 24)]),
    ('EZ81', BRU, 'grey plates and ring getter', 'F3', [(WHO, 24)]),
    ('5U4GB', PEN, 'grey box plates', 'F3', [(CEL, 16)]),
    ('0A2', PEN, 'nickel cathode in a short bulb', 'F4', [(BRO, 20)]),
    ('СГ1П', LOV, 'nickel cathode in a tall bulb', 'F4', [(SUI, 16)]),
    ('EM84', BRU, 'bar target with a wire frame', 'F5', [(CEL, 12)]),
    ('6Е5С', SNE, 'round target under a black cap', 'F5', [(DEP, 14)]),
]

FRESH = [
    ('EL84', BRU, 'grey plates and ring getter', 'D1', 14),
    ('6П6С', LOV, 'black plates and two top getters', 'E2', 6),
    ('ECC83', BRU, 'ribbed plates and ring getter', 'A2', 3),
]

BINS = [('A%d' % i, 'small signal') for i in range(1, 7)] + \
       [('B%d' % i, 'small signal') for i in range(1, 7)] + \
       [('C%d' % i, 'pentodes') for i in range(1, 3)] + \
       [('D%d' % i, 'power') for i in range(1, 5)] + \
       [('E%d' % i, 'power with octal base') for i in range(1, 8)] + \
       [('F%d' % i, 'rectifiers and others') for i in range(1, 6)]

BENCH, CASE = 'bench', 'case'


def reads(quantity, unit, low='', high='', resolution='', repeatability=''):
    row = {'quantity': quantity, 'unit': unit}
    for name, value in (('low', low), ('high', high), ('resolution', resolution),
                        ('repeatability', repeatability)):
        if value:
            row[name] = value
    return row


TESTERS = [
    {'code': BENCH, 'title': 'Bench tester with regulated supplies', 'reads': [
        reads('ia', 'mA', '0', '250', '0.01', '1%'),
        reads('gm', 'mA/V', '0', '30', '0.01', '2.5%'),
        reads('ig', 'uA', '-20', '20', '0.01', '0.03'),
        reads('hk', 'uA', '0', '200', '0.1', '0.2'),
        reads('heater', 'mA', '0', '4000', '0.1', '0.3%'),
        reads('anode', 'mA', '0', '400', '0.1', '1.5%'),
        reads('strike', 'V', '0', '300', '0.1', '0.5'),
        reads('regulating', 'V', '0', '200', '0.1', '0.1'),
        reads('regulation', 'V', '0', '20', '0.1', '0.1'),
        reads('closing', 'V', '-50', '0', '0.1', '0.2'),
        reads('shorts', ''), reads('leakage', ''), reads('gas', ''), reads('glow', ''),
        reads('microphony-ear', '')]},
    {'code': CASE, 'title': 'Portable tester in a suitcase', 'reads': [
        reads('gm', 'micromho', '0', '15000', '10', '4%'),
        reads('shorts', ''), reads('gas', ''), reads('leakage', '')]},
]

# The owner's own test points, for types without a published one.  Invented: not for use.
POINTS = [
    ('GZ34', 'One anode at 10 V DC', '10', '5.0', [('anode', '100', '60', '140')]),
    ('5AR4', 'One anode at 10 V DC', '10', '5.0', [('anode', '100', '60', '140')]),
    ('EZ81', 'One anode at 10 V DC', '10', '6.3', [('anode', '62', '37', '87')]),
    ('5Ц3С', 'One anode at 20 V DC', '20', '5.0', [('anode', '70', '42', '98')]),
    ('5U4GB', 'One anode at 20 V DC', '20', '5.0', [('anode', '84', '50', '118')]),
    ('0A2', 'Supply 220 V and 20 mA through the tube', '220', '',
     [('strike', '156', '', '185'), ('regulating', '150', '143', '158')]),
    ('СГ1П', 'Supply 220 V and 20 mA through the tube', '220', '',
     [('strike', '160', '', '185'), ('regulating', '150', '143', '158')]),
    ('EM84', 'Target and plate supply 250 V', '250', '6.3', [('closing', '-22', '-27', '-17')]),
    ('6Е5С', 'Target and plate supply 250 V', '250', '6.3', [('closing', '-8', '-10', '-6')]),
]

# ---- chance --------------------------------------------------------------------------------------

rng = random.Random(SEED)


def z():
    return sum(rng.random() for _ in range(12)) - 6.0


def factor(s, most=3.0):
    return 1.0 + s * max(-most, min(most, z()))


def chance(percent):
    return rng.random() * 100 < percent


def pick(weights):
    at = rng.random() * sum(w for _, w in weights)
    for value, w in weights:
        at -= w
        if at < 0:
            return value
    return weights[-1][0]


# ---- one tube ------------------------------------------------------------------------------------

FAULTS = [('short', 1.2), ('gas', 1.2), ('leak', 0.8), ('air', 0.7), ('dead', 0.6), ('false', 1.2)]


def condition(mix):
    """Life of a tube: the state of wear, and a fault or none."""
    state = pick(list(zip(('new', 'used', 'worn', 'tired'), mix)))
    low, high = {'new': (1, 1), 'used': (0.86, 1.0), 'worn': (0.66, 0.86),
                 'tired': (0.35, 0.66)}[state]
    wear = low + (high - low) * rng.random()
    at = rng.random() * 100
    for fault, share in FAULTS:
        at -= share
        if at < 0:
            return state, wear, fault
    return state, wear, ''


def look(state, fault, base, lot):
    """What the eye sees, in the words of the inspection."""
    new = state == 'new'
    boxed = new and lot in (DEP, WHO, SUI)
    see = {
        'pins': pick([('bright', 5), ('dull', 3), ('single-test', 1)] if new else
                     [('worn', 5), ('cleaned', 2), ('dull', 1), ('worn+bent', 0.5)]),
        'getter': pick([('full', 7), ('most', 2), ('half', 1)] if new else
                       [('full', 3), ('most', 4), ('half', 3), ('little', 1), ('most+tinted', 1)]),
        'getter_edge': pick([('sharp', 6), ('patchy', 2), ('not-judged', 2)] if new else
                            [('sharp', 3), ('patchy', 5), ('receding', 1)]),
        'plate': pick([('clean', 1)] if new else [('clean', 6), ('slight', 3), ('brown', 1)]),
        'base': 'none' if base == 'glass' else
                pick([('sound', 12), ('loose', 1)] if new else
                     [('sound', 9), ('loose', 2), ('scorched', 1), ('cracked', 0.5)]),
        'label': pick([('clear', 8), ('faded', 2)] if new else
                      [('clear', 3), ('faded', 4), ('partial', 3), ('none', 1)]),
        'glass': pick([('sound', 20), ('moulding', 1)] if new else
                      [('sound', 10), ('scratched', 2), ('darkened', 1)]),
        'loose': pick([('none', 40), ('flake', 1)] if new else [('none', 20), ('flake', 2),
                                                                ('rattle', 1)]),
        'box': pick([('original', 9), ('none', 1)] if boxed else
                    [('none', 6), ('other', 2), ('original', 2)]),
    }
    if fault == 'air':
        see['getter'], see['getter_edge'] = 'white', 'not-judged'
    if fault == 'false':
        see['label'] += '+relabelled'
    return see


def tested(nominal, dev, wear_power, wear, repeat):
    return nominal * dev * (1.0 - (1.0 - wear) * wear_power) * factor(repeat)


def sections_of(t, group, wear, fault, tester):
    """[(section, {quantity: text})] of a tube that amplifies."""
    ia_nominal, gm_nominal, sections = TYPES[t][:3]
    ia_group, gm_group = group
    spread = 0.12 if t in POWER else 0.10
    common_i, common_g = z(), z()
    rows = []
    for n in range(1, sections + 1):
        share = 0.7 if sections > 1 else 1.0
        rest = 0.71414 if sections > 1 else 0.0  # squares add up to one
        zi = max(-3.0, min(3.0, share * common_i + rest * z()))
        zg = max(-3.0, min(3.0, share * common_g + rest * z()))
        ia_dev = ia_group * (1.0 + spread * zi)
        gm_dev = gm_group * (1.0 + 0.4 * (ia_dev - 1.0)) * (1.0 + 0.05 * zg)
        left = wear * (0.3 if fault == 'dead' and n == sections else 1.0)
        ia = tested(ia_nominal, ia_dev, 0.8, left, 0.01)
        gm = tested(gm_nominal, gm_dev, 1.0, left, 0.025 if tester == BENCH else 0.04)
        if tester == CASE:
            rows.append((n, {'gm': '%d0' % int(gm * 1.04 * 100 + 0.5)}))
            continue
        ig = (-0.05 if t not in POWER else -0.15) * (1.0 + rng.random())
        if fault == 'gas':
            ig -= 4.0 + 6.0 * rng.random()
        hk = 0.4 + 2.5 * rng.random() * (1.0 if wear == 1 else 2.0)
        if fault == 'leak':
            hk = 25.0 + 60.0 * rng.random()
        rows.append((n, {'ia': '%.2f' % ia, 'gm': '%.2f' % gm, 'ig': '%.2f' % ig,
                         'hk': '%.1f' % hk}))
    return rows


def rectifier_of(t, group, wear):
    rows = []
    common = z()
    for n in (1, 2):
        dev = group[0] * (1.0 + 0.06 * (0.7 * common + 0.7 * z()))
        rows.append((n, {'anode': '%.1f' % tested(TYPES[t][0], dev, 1.0, wear, 0.015)}))
    return rows


def whole_of(t, group, wear, fault, tester):
    """{quantity: text} of the whole tube."""
    row = {'shorts': 'found' if fault == 'short' else 'none'}
    if fault == 'short':
        return row
    if t in REGULATORS:
        strike, volts = TYPES[t][:2]
        row['strike'] = '%.1f' % (strike * (1.0 + 0.03 * z()) + (12 if wear < 0.8 else 0))
        row['regulating'] = '%.1f' % (volts * (1.0 + 0.008 * z()) + (4 if wear < 0.7 else 0))
        row['regulation'] = '%.1f' % (2.0 + 2.0 * rng.random())
        row['glow'] = 'bright'
        return row
    row['gas'] = 'found' if fault == 'gas' else 'clear'
    if t not in DIRECT:
        row['leakage'] = 'found' if fault == 'leak' else 'clear'
    if tester == CASE:
        return row
    row['heater'] = '%.1f' % (TYPES[t][3] * factor(0.018))
    if t in INDICATORS:
        row['closing'] = '%.1f' % -(TYPES[t][0] * group[0] * factor(0.05))
        row['glow'] = 'bright' if wear > 0.9 else 'fair' if wear > 0.75 else 'dim'
    elif t not in RECTIFIERS and t not in POWER:
        row['microphony-ear'] = pick([('none', 88), ('slight', 9), ('marked', 2.5),
                                      ('howls', 0.5)])
    return row


def date_of(maker, lot):
    """A date code as printed; some read as a window, some do not."""
    year = 1956 + int(rng.random() * 22)
    if maker in (SNE, LOV):
        year = 1964 + int(rng.random() * 24)
        month = int(rng.random() * 12)
        if maker == SNE:
            roman = ('I', 'II', 'III', 'IV', 'V', 'VI', 'VII', 'VIII', 'IX', 'X', 'XI', 'XII')
            return 'ОТК %s-%d' % (roman[month], year - 1900)
        return '%d-%02d' % (year, month + 1)
    if maker == HOS or chance(12):
        return ''
    if maker == PEN:
        return '%d-W%02d' % (year, 1 + int(rng.random() * 52))
    if maker == OSA:
        return '%d..%d' % (year, year + 3)
    return '%d' % year if chance(60) else '%d-%02d' % (year, 1 + int(rng.random() * 12))


def history_of(state, lot):
    if lot == ORG:
        return 'used', 'pulled from instruments'
    if state == 'new' and lot == DEP:
        return 'unused', 'sealed carton opened here'
    if state == 'new' and lot in (WHO, SUI):
        return 'unused', "on the seller's word"
    if state != 'new' and lot in (BRO, WOR):
        return 'used', "on the seller's word"
    return 'unknown', ''


# ---- batches -------------------------------------------------------------------------------------

ASPECTS = ['pins', 'getter', 'getter_edge', 'plate', 'base', 'label', 'glass', 'loose', 'box']
TUBE_HEAD = ['mark', 'printed', 'maker', 'construction', 'date', 'lot', 'bin', 'history',
             'history_word'] + ASPECTS
VALUES = ['shorts', 'leakage', 'gas', 'heater', 'ia', 'gm', 'ig', 'hk', 'microphony-ear', 'anode',
          'strike', 'regulating', 'regulation', 'glow', 'closing']
READING_HEAD = ['tube', 'section', 'tester', 'test_point', 'taken', 'warm_s'] + VALUES


def title_of(maker, printed, build):
    return '%s %s with %s' % (maker, printed, build)


class Clock:
    """Sittings: a tube every two minutes or so, six hours a day, from the day after the purchase."""

    def __init__(self, day):
        self.year, self.month, self.day = (int(x) for x in day.split('-'))
        self.next_day()

    def next_day(self):
        self.day += 1
        if self.day > 28:
            self.day, self.month = 1, self.month + 1
        if self.month > 12:
            self.month, self.year = 1, self.year + 1
        self.minute = 9 * 60

    def tick(self, minutes):
        self.minute += minutes
        if self.minute > 15 * 60:
            self.next_day()
        return '%04d-%02d-%02dT%02d:%02d:00Z' % (self.year, self.month, self.day,
                                                 self.minute // 60, self.minute % 60)


class Batch:
    def __init__(self, mark):
        self.mark = mark
        self.tubes, self.readings = [], []
        self.clocks = {}

    def tube(self, printed, maker, build, place, lot, mix, group, tester):
        state, wear, fault = condition(mix)
        if fault in ('gas', 'leak') and printed in REGULATORS + RECTIFIERS + INDICATORS:
            fault = ''
        if fault == 'dead' and TYPES[printed][2] != 2:
            fault = ''
        mark = self.mark % (len(self.tubes) + 1)
        word = history_of(state, lot)
        see = look(state, fault, TYPES[printed][4], lot)
        self.tubes.append([mark, printed, maker, title_of(maker, printed, build),
                           date_of(maker, lot), lot, place, word[0], word[1]] +
                          [see[a] for a in ASPECTS])
        if fault == 'air':  # air has got in: nothing to measure
            return
        self.read(mark, printed, lot, group, wear, fault, tester)

    def read(self, mark, t, lot, group, wear, fault, tester):
        power = t in POWER
        if lot not in self.clocks:
            self.clocks[lot] = Clock([l for l in LOTS if l[0] == lot][0][2])
        taken = self.clocks[lot].tick(2 if not power else 3)
        warm = '' if t in REGULATORS else str((300 if power else 90) + 10 * int(rng.random() * 6))
        rows = [(0, whole_of(t, group, wear, fault, tester))]
        if fault != 'short':
            if t in RECTIFIERS:
                rows += rectifier_of(t, group, wear)
            elif t not in REGULATORS + INDICATORS:
                rows += sections_of(t, group, wear, fault, tester)
        for section, values in rows:
            self.readings.append([mark, str(section), tester, TYPES[t][5], taken, warm] +
                                 [values.get(v, '') for v in VALUES])


def stock():
    b = Batch('S%04d')
    for printed, maker, build, place, parts in STOCK:
        for lot, count in parts:
            mix = [l[5] for l in LOTS if l[0] == lot][0]
            group = factor(0.06, 2.0), factor(0.03, 2.0)
            tester = CASE if (printed, lot) == ('12AX7', ORG) else BENCH
            for _ in range(count):
                b.tube(printed, maker, build, place, lot, mix, group, tester)
    return b


def fresh():
    """The batch that is logged in front of the user, with one broken line in each file."""
    b = Batch('F%02d')
    mix = [l[5] for l in LOTS if l[0] == FAIR][0]
    for printed, maker, build, place, count in FRESH:
        group = factor(0.04, 1.5), factor(0.02, 1.5)
        for _ in range(count):
            b.tube(printed, maker, build, place, FAIR, mix, group, BENCH)
    slip = list(b.tubes[6])
    slip[0], slip[1] = 'F24', 'EL48'  # figures changed places: there is no such type
    b.tubes.insert(7, slip)
    for row in b.readings:
        if row[0] == 'F18' and row[1] == '1':
            row[READING_HEAD.index('gm')] += ' mA'  # the unit of the column beside it
    return b


# ---- files ---------------------------------------------------------------------------------------

def field(text):
    return '"%s"' % text.replace('"', '""') if any(c in text for c in ',"\n') else text


def table(head, rows):
    return ''.join(','.join(field(c) for c in row) + '\n' for row in [head] + rows)


def points():
    out = []
    for t, title, va, heater, figures in POINTS:
        p = {'designation': t, 'code': 'house', 'title': title, 'held': 'none', 'va': va + ' V'}
        if heater:
            p['heater'] = heater + ' V'
        p['source'] = 'made up for the demo: not for use'
        p['figures'] = []
        for quantity, nominal, low, high in figures:
            unit = 'mA' if quantity == 'anode' else 'V'
            f = {'quantity': quantity, 'nominal': '%s %s' % (nominal, unit)}
            if low:
                f['low'] = '%s %s' % (low, unit)
            if high:
                f['high'] = '%s %s' % (high, unit)
            p['figures'].append(f)
        out.append(p)
    return out


def lines_of(items):
    return ''.join(json.dumps(i, ensure_ascii=False) + '\n' for i in items)


def files():
    s, f = stock(), fresh()
    constructions = []
    for printed, maker, build, _, _ in STOCK:
        constructions.append([title_of(maker, printed, build), maker, build])
    return {
        'people.csv': table(['name', 'role', 'shown'], [list(p) for p in PEOPLE]),
        'makers.csv': table(['name', 'country', 'note'], [list(m) for m in MAKERS]),
        'constructions.csv': table(['title', 'maker', 'plate'], constructions),
        'lots.csv': table(['code', 'title', 'bought', 'cost_minor', 'currency', 'note'],
                          [[l[0], l[1], l[2], str(l[3]), 'EUR', l[4]] for l in LOTS]),
        'lot-lines.csv': table(['lot', 'printed', 'count', 'maker'],
                               [[l[0], l[1], str(l[3]), l[2]] for l in LINES]),
        'bins.csv': table(['code', 'note'], [list(b) for b in BINS]),
        'testers.json': lines_of(TESTERS),
        'test-points.json': lines_of(points()),
        'tubes.csv': table(TUBE_HEAD, s.tubes),
        'readings.csv': table(READING_HEAD, s.readings),
        'fresh-tubes.csv': table(TUBE_HEAD, f.tubes),
        'fresh-readings.csv': table(READING_HEAD, f.readings),
    }


def main(argv):
    folder = argv[1] if len(argv) > 1 else os.path.dirname(os.path.abspath(__file__))
    for name, text in files().items():
        with open(os.path.join(folder, name), 'w', encoding='utf-8', newline='') as out:
            out.write(text)
    return 0


if __name__ == '__main__':
    sys.exit(main(sys.argv))
