#!/usr/bin/python3
"""Writes tests/reference/outside_python.csv: colors worked out by two independent programs, for tests/color/oracles_test.cpp.

Debian packages: python3-colorspacious, python3-skimage. Run by hand, from the repository's root:
    /usr/bin/python3 tests/color/outside/outside.py > tests/reference/outside_python.csv
"""
import random

import colorspacious
import numpy
import skimage
from skimage import color
from skimage.color import colorconv

SEED = 20240610
draw = random.Random(SEED)


def uniform(low, high):
    return round(draw.uniform(low, high), 4)


def row(program, function, first, second, result):
    cells = [program, function]
    for values, count in ((first, 3), (second, 3), (result, 3)):
        values = list(numpy.atleast_1d(values)) if values is not None else []
        cells += [f"{float(v):.12g}" for v in values] + [""] * (count - len(values))
    print(",".join(cells))


print(f"""# Colors by two independent programs: scikit-image {skimage.__version__} (BSD-3-Clause) and colorspacious {colorspacious.__version__} (MIT), numpy {numpy.__version__}, Debian 12.
# Written by tests/color/outside/outside.py, seed {SEED}; inputs have 4 decimals (6 for RGB), results 12 digits.
# first1..3: the color (XYZ with Y = 100, Lab, Luv, or encoded RGB 0..1); second1..3: the white (Y = 100) or the second color; result1..3.
# Tolerances. lab_of_xyz, luv_of_xyz (skimage): 2e-4, it joins the branches at 0.008856 with slope 7.787 (Luv: 903.3), rounded; colorspacious 1e-9.
# xyz_of_lab, xyz_of_luv, xy_of_xyz, lch_of_lab: 1e-9 (12 digits). differences: 1e-9 (12 digits; sums of a few rounded terms).
# xyz_of_srgb: both programs type in a matrix, ours follows from the primaries: colorspacious' has 4 digits (3 * 5e-5 of 100: 0.015), skimage's 6 digits
# for another rounding of D65 (0.950227 where ours has 0.950532, and 3e-6, 2e-6: 0.032 of 100). srgb_of_xyz is compared after decoding: 1.5e-4 (the 0.015)
# times 5.3, the largest sum of a row of the inverse matrix: 8e-4 of 1.
program,function,first1,first2,first3,second1,second2,second3,result1,result2,result3""")

for name, observer in (("A", "2"), ("D50", "2"), ("D55", "10"), ("D65", "2"), ("D65", "10"), ("D75", "2"), ("E", "2")):
    white = numpy.array(colorconv.get_xyz_coords(name, observer))
    for k in range(20):
        reach = 1.0 if k < 15 else 0.02
        xyz = [uniform(0.01, 100) * reach for _ in range(3)]
        xyz = [round(v, 4) for v in xyz]
        row("skimage", "lab_of_xyz", xyz, 100 * white, color.xyz2lab(numpy.array(xyz) / 100, name, observer))
        row("skimage", "luv_of_xyz", xyz, 100 * white, color.xyz2luv(numpy.array(xyz) / 100, name, observer))
        row("colorspacious", "lab_of_xyz", xyz, 100 * white,
            colorspacious.cspace_convert(xyz, "XYZ100", {"name": "CIELab", "XYZ100_w": 100 * white}))
        lab = [uniform(9, 100), uniform(-60, 60), uniform(-60, 60)]
        row("colorspacious", "xyz_of_lab", lab, 100 * white,
            colorspacious.cspace_convert(lab, {"name": "CIELab", "XYZ100_w": 100 * white}, "XYZ100"))
        luv = [uniform(9, 100), uniform(-40, 40), uniform(-40, 40)]
        row("skimage", "xyz_of_luv", luv, 100 * white, 100 * color.luv2xyz(numpy.array(luv), name, observer))

for k in range(60):
    rgb = [round(draw.uniform(0, 1), 6) for _ in range(3)] if k < 50 else [round(draw.uniform(0, 0.05), 6) for _ in range(3)]
    row("colorspacious", "xyz_of_srgb", rgb, None, colorspacious.cspace_convert(rgb, "sRGB1", "XYZ100"))
    row("skimage", "xyz_of_srgb", rgb, None, 100 * color.rgb2xyz(numpy.array(rgb)))
    xyz = [round(v, 4) for v in colorspacious.cspace_convert(rgb, "sRGB1", "XYZ100")]
    row("colorspacious", "srgb_of_xyz", xyz, None, colorspacious.cspace_convert(xyz, "XYZ100", "sRGB1"))
    row("colorspacious", "xy_of_xyz", xyz, None, colorspacious.cspace_convert(xyz, "XYZ100", "xyY100")[:2])
    lab = [uniform(0, 100), uniform(-90, 90), uniform(-90, 90)]
    row("colorspacious", "lch_of_lab", lab, None, colorspacious.cspace_convert(lab, "CIELab", "CIELCh"))

for k in range(300):
    reach = (90, 90, 5)[k % 3]
    first = [uniform(0, 100), uniform(-reach, reach), uniform(-reach, reach)]
    step = (100, 4, 2)[k % 3]
    second = [min(100, max(0, round(first[0] + uniform(-step, step), 4)))] + [round(v + uniform(-step, step), 4) for v in first[1:]]
    if k % 50 == 49:
        first = [first[0], 0, 0]
    a, b = numpy.array(first), numpy.array(second)
    row("skimage", "difference_1976", first, second, color.deltaE_cie76(a, b))
    row("skimage", "difference_1994", first, second, color.deltaE_ciede94(a, b))
    row("skimage", "difference_2000", first, second, color.deltaE_ciede2000(a, b))
    row("skimage", "difference_2000_212", first, second, color.deltaE_ciede2000(a, b, kL=2, kC=1, kH=2))
    row("skimage", "difference_cmc_11", first, second, color.deltaE_cmc(a, b))
    row("skimage", "difference_cmc_21", first, second, color.deltaE_cmc(a, b, kL=2, kC=1))
