#!/usr/bin/env python3
"""A tool path of a mesh, for the demo: path_of_mesh.py COUPON.stl BEAD [LAYER] > FILE

Cuts a binary STL of a coupon of planar layers at half its height. Where two edges of the cut lie a bead apart with material
between them runs a bead; where they lie two or three apart, as many beside each other. Beads are drawn on to where their middle
lines meet. This is enough for coupons that `strutpress mesh` writes; it is no program for printing.
"""
import math
import struct
import sys

FILAMENT = 1.75  # mm


def cut(name):
    """Return the edges of the cut at half the height, with the material to their left, and the height."""
    data = open(name, "rb").read()
    count = struct.unpack_from("<I", data, 80)[0]
    corners = [struct.unpack_from("<9f", data, 84 + 50 * i + 12) for i in range(count)]
    height = max(max(c[2::3]) for c in corners)
    edges = []
    for c in corners:
        p = [(c[3 * k], c[3 * k + 1], c[3 * k + 2] - 0.5 * height) for k in range(3)]
        ends = [None, None]  # places where the triangle goes down through the cut, and up
        for a, b in ((p[0], p[1]), (p[1], p[2]), (p[2], p[0])):
            if (a[2] > 0) != (b[2] > 0):
                t = a[2] / (a[2] - b[2])
                ends[a[2] <= 0] = tuple(round(a[k] + t * (b[k] - a[k]), 4) for k in (0, 1))
        if ends[0] and ends[0] != ends[1]:
            edges.append((ends[0], ends[1]))
    return join(edges), height


def join(edges):
    """Join edges that follow each other in a straight line."""
    follows = {e[0]: e for e in edges}
    before = {e[1]: e for e in edges}
    joined = []
    for start, end in edges:
        direction = unit(start, end)
        if start in before and dot(unit(*before[start]), direction) > 1 - 1e-6:
            continue
        while end in follows and dot(unit(*follows[end]), direction) > 1 - 1e-6:
            end = follows[end][1]
        joined.append((start, end))
    return joined


def unit(a, b):
    length = math.dist(a, b)
    return ((b[0] - a[0]) / length, (b[1] - a[1]) / length)


def dot(a, b):
    return a[0] * b[0] + a[1] * b[1]


def strips(edges, bead):
    """Return the strips between two edges that face each other: both ends of the middle line, beads side by side, direction."""
    found = []
    for i, (a, b) in enumerate(edges):
        d = unit(a, b)
        left = (-d[1], d[0])
        for c, e in edges[i + 1:]:
            if dot(unit(c, e), d) > -0.9999:
                continue
            apart = dot((c[0] - a[0], c[1] - a[1]), left)
            beads = round(apart / bead)
            if not 1 <= beads <= 3 or abs(apart - beads * bead) > 0.1 * bead:
                continue
            low = max(0, dot((e[0] - a[0], e[1] - a[1]), d))
            high = min(math.dist(a, b), dot((c[0] - a[0], c[1] - a[1]), d))
            if high - low < 0.2 * bead or not is_full(edges, a, d, left, apart, 0.5 * (low + high)):
                continue
            ends = [[a[k] + s * d[k] + 0.5 * apart * left[k] for k in (0, 1)] for s in (low, high)]
            found.append((ends, beads, d))
    return found


def merge(found, bead):
    """Join strips in line with each other that are separated only by the body of a joint."""
    lines = []
    for ends, beads, d in found:
        for origin, e, others, spans in lines:
            off = [[p[k] - origin[k] for k in (0, 1)] for p in ends]
            if others == beads and abs(dot(d, e)) > 0.9999 and abs(off[0][0] * e[1] - off[0][1] * e[0]) < 0.05 * bead:
                spans.append(sorted(dot(p, e) for p in off))
                break
        else:
            lines.append((ends[0], d, beads, [[0, math.dist(*ends)]]))
    merged = []
    for origin, d, beads, spans in lines:
        joined = []
        for low, high in sorted(spans):
            if joined and low - joined[-1][1] < 3 * bead:
                joined[-1][1] = max(high, joined[-1][1])
            else:
                joined.append([low, high])
        merged += [([[origin[k] + s * d[k] for k in (0, 1)] for s in span], beads, d) for span in joined]
    return merged


def is_full(edges, a, d, left, apart, along):
    """Return whether no edge lies between the two at this place."""
    for c, e in edges:
        p = [dot((q[0] - a[0], q[1] - a[1]), d) - along for q in (c, e)]
        if (p[0] > 0) == (p[1] > 0):
            continue
        q = [dot((q[0] - a[0], q[1] - a[1]), left) for q in (c, e)]
        across = q[0] + p[0] / (p[0] - p[1]) * (q[1] - q[0])
        if 0.02 * apart < across < 0.98 * apart:
            return False
    return True


def draw_on(found, bead):
    """Extend middle lines to where the nearest other one of their kind crosses them, or to the face of a wall."""
    before = [([list(p) for p in ends], beads, d) for ends, beads, d in found]
    for i, (ends, beads, d) in enumerate(found):
        for k in (0, 1):
            out = 2 * k - 1
            best = None
            for j, (other, others, e) in enumerate(before):
                det = d[0] * e[1] - d[1] * e[0]
                if j == i or others < beads or abs(det) < 0.2:
                    continue
                w = (other[0][0] - ends[k][0], other[0][1] - ends[k][1])
                own, on_other = (w[0] * e[1] - w[1] * e[0]) / det, (w[0] * d[1] - w[1] * d[0]) / det
                if others > beads:
                    own -= out * 0.5 * others * bead / abs(det)
                reach = 1.6 * beads * bead
                if 0 < own * out < reach and -reach < on_other < math.dist(*other) + reach:
                    if best is None or own * out < best * out:
                        best = own
            if best is not None:
                ends[k] = [before[i][0][k][m] + best * d[m] for m in (0, 1)]


def main():
    name, bead = sys.argv[1], float(sys.argv[2])
    wanted = float(sys.argv[3]) if len(sys.argv) > 3 else 0.2
    edges, height = cut(name)
    found = merge(strips(edges, bead), bead)
    draw_on(found, bead)
    layers = max(1, round(height / wanted))
    layer = height / layers
    print("; a path of %s for the demo, not for a machine" % name.replace("\n", " "))
    print("G21\nG90\nM83")
    for n in range(layers):
        print("G0 Z%.4f" % ((n + 1) * layer))
        for ends, beads, d in found:
            for k in range(beads):
                off = (k - 0.5 * (beads - 1)) * bead
                a, b = [[p[0] - off * d[1] + 50, p[1] + off * d[0] + 50] for p in ends]
                metered = math.dist(a, b) * bead * layer / (math.pi * FILAMENT ** 2 / 4)
                print("G0 X%.4f Y%.4f\nG1 X%.4f Y%.4f E%.5f" % (*a, *b, metered))


main()
