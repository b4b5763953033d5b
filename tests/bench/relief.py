"""Relief on two rendered ground truths with highlights, cast shadows and noise, against plain least squares in NumPy.

``test_relief.scene`` is Lambert with a Blinn highlight; ``metalwork.plate`` microfacets, marched shadows, light thrown
back in the cuts, 1 % noise and JPEG or 16-bit linear. Also how far estimated lights are off in their sides.
"""

import time

import numpy as np

SEEDS = range(4)


def bench():
    from readaid.photo import lights, relief
    from tests.photo.metalwork import plate
    from tests.photo.test_metalwork import azimuths_off, linear
    from tests.photo.test_relief import degrees, plain, scene

    rows = []
    for name, count, coded in (("Lambert and Blinn", 8, ""), ("Lambert and Blinn", 4, ""),
                               ("microfacets, JPEG", 8, "jpeg"),
                               ("microfacets, JPEG", 4, "jpeg"), ("microfacets, 16 bit", 8, "linear"),
                               ("microfacets, 16 bit", 4, "linear")):
        ours, cut, theirs, sides, spent = [], [], [], [], 0.0
        for seed in SEEDS:
            if coded:
                truth = plate(seed, count, coded=coded)
                normals, where, photos, directions = truth.normals, truth.cut, truth.photos, truth.lights
                levels = [linear(p) for p in photos]
            else:
                normals, _, where, photos, directions = scene(seed, count)
                levels = photos
            start = time.process_time()
            found = degrees(relief.solve(photos, directions).normals, normals)
            spent += time.process_time() - start
            ours.append(np.median(found))
            cut.append(np.median(found[where]))
            theirs.append(np.median(degrees(plain(levels, directions), normals)[where]))
            sides.append(azimuths_off(lights.estimated(photos).lights, directions))
        title = f"{name}, {count} lights"
        rows += [(f"{title}: median angle error", float(np.mean(ours)), "degrees", "< 5"),
                 (f"{title}: the same inside the cuts", float(np.mean(cut)), "degrees", "< 5"),
                 (f"{title}: plain least squares inside the cuts", float(np.mean(theirs)), "degrees", "reference"),
                 (f"{title}: estimated lights, worst side, half turns aside", float(np.mean(sides)), "degrees", ""),
                 (f"{title}: processor time a megapixel", spent / len(SEEDS) / normals[..., 0].size * 1e6, "s", "")]
    return rows
