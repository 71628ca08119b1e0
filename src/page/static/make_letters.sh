#!/usr/bin/env bash
# Makes the page's two faces from those of the plates (Inter, SIL Open Font License 1.1: ../../raster/letters/OFL.txt).
#     pip install fonttools brotli
set -euo pipefail
cd "$(dirname "$0")"
for face in 400:Regular 600:SemiBold; do
    pyftsubset "../../raster/letters/Inter-${face#*:}.ttf" --flavor=woff2 --output-file="inter-${face%%:*}.woff2" \
        --layout-features='kern,tnum,liga' \
        --unicodes='U+20-7E,U+A0-FF,U+2010-2015,U+2018-201E,U+2022,U+2026,U+2030,U+2190-2193,U+2212,U+221A,U+221E,U+2248,U+2264,U+2265,U+03BB,U+03BC,U+207B,U+2070-2079,U+2713'
done
