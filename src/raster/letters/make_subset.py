"""Makes the two faces beside this script from Inter's static TTF files.

    npm pack @expo-google-fonts/inter@0.4.2 && tar xzf expo-google-fonts-inter-0.4.2.tgz
    pip install fonttools
    python make_subset.py package

Kept: what figures may write (see LETTERS in ../drawing.rs) with some room around it, and kerning.
The licence text (OFL.txt) is the package's LICENSE_FONT, unchanged.
"""

import sys
from pathlib import Path

from fontTools import subset

RANGES = [(0x20, 0x7E), (0xA0, 0xFF), (0x391, 0x3A9), (0x3B1, 0x3C9)]
SIGNS = "–—‘’“”…•†‰′″⁰⁴⁵⁶⁷⁸⁹⁺⁻₀₁₂₃₄₅₆₇₈₉←↑→↓√∞∑∂∆∏∫≈≠≤≥−∙◊ıŒœŠšŽž€"

here = Path(__file__).parent
package = Path(sys.argv[1])
for weight in ("400Regular", "600SemiBold"):
    options = subset.Options(layout_features=["kern"], name_IDs=["*"], notdef_outline=True)
    font = subset.load_font(package / weight / f"Inter_{weight}.ttf", options)
    subsetter = subset.Subsetter(options)
    letters = [c for low, high in RANGES for c in range(low, high + 1)] + [ord(c) for c in SIGNS]
    subsetter.populate(unicodes=[c for c in letters if c in font.getBestCmap()])
    subsetter.subset(font)
    subset.save_font(font, here / f"Inter-{weight[3:]}.ttf", options)
