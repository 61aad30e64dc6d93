import time
from pathlib import Path
import numpy as np
from PIL import Image


def test_big(study, tmp_path):
    s = study("from-a-plan")
    page = s.page
    rng = np.random.default_rng(1)
    im = Image.fromarray(rng.integers(0, 255, (3600, 4400, 3), dtype=np.uint8))
    p = tmp_path / "big plan.png"
    im.save(p, compress_level=1)
    print(p.stat().st_size / 1e6, "MB")
    t = time.time()
    page.set_input_files("[data-control='file']", str(p))
    page.wait_for_function(
        "() => document.querySelector('.dk-paper image') !== null", timeout=60000
    )
    print("open after", time.time() - t, s.text(".dk-note"), s.errors)
