"""The look of the board's picture: neutral colours for light and dark screens, and the symbols used more than once."""

from __future__ import annotations

from typing import Final

PICTURE_STYLE: Final = """
text{font-family:ui-sans-serif,"Segoe UI","Helvetica Neue",Arial,sans-serif;fill:#2b2e31}
.head{font-size:14px;font-weight:600}.note{font-size:12px}.small{font-size:11px;fill:#5d6469}
.paper{fill:#faf9f6}.board{fill:#e6e4db;stroke:#4b4f4c;stroke-width:1.4}
.nocontour{fill:none;stroke:#85898a;stroke-dasharray:7 5}
.rival{fill:none;stroke:#34506b;stroke-width:1.6;stroke-dasharray:1.5 3.5;stroke-linecap:round}
.strip{fill:url(#lines);stroke:#8f8a78;stroke-width:.6}
.land{fill:#d9a441}.land.free{fill:none;stroke:#b08a45;stroke-width:.5}.disc{fill:#d9a441}
.freering{fill:none;stroke:#8c7434;stroke-width:.9;stroke-dasharray:2.5 2}
.hole{fill:#faf9f6;stroke:#4b4f4c;stroke-width:.8}.circle{fill:none;stroke:#6f7376;stroke-width:.8;stroke-dasharray:2 2}
.body{fill:#aab4b9;stroke:#444d53;stroke-width:.8}.empty{fill:none;stroke:#8a9196;stroke-width:.7}
.greatest{fill:none;stroke:#5d6469;stroke-dasharray:3 2}.anyside{stroke-dasharray:1 2}
.marked{fill:url(#hatch);stroke:#7c2d12;stroke-width:2.4}
.marked.warn{fill:url(#sparse);stroke:#6b4e00;stroke-width:1.8}
.marked.open{fill:url(#dots);stroke:#34506b;stroke-width:1.5}
.ref{text-anchor:middle;fill:#1d2124}.marked.greatest{fill:none}
.unsure{stroke-dasharray:9 4}.pin1{fill:#1d2124;stroke:#1d2124;stroke-width:1}
.assumed{fill:none;stroke-dasharray:1.6 1.2}
.leader{stroke:#7c2d12;stroke-width:1.2}.ring{fill:none;stroke:#7c2d12;stroke-width:2.4}.flag{fill:#7c2d12;stroke:#faf9f6;stroke-width:1}
.warn .leader,.ring.warn{stroke:#6b4e00}.warn .flag{fill:#6b4e00}
.open .leader,.ring.open{stroke:#34506b}.open .flag{fill:#34506b}
text,.flagged{pointer-events:none}
.flagtext{text-anchor:middle;font-size:9.5px;font-weight:700;fill:#fff}
.scale{fill:none;stroke:#5d6469}
.fid{fill:#8c7434;stroke:#3f4346;stroke-width:.6}.fidcross{fill:none;stroke:#3f4346;stroke-width:.9}
.plus{fill:none;stroke:#85898a;stroke-width:.9}
.hatchline{stroke:#7c2d12;stroke-width:1.6}.hatchback{fill:#f3d9c4}
.sparseline{stroke:#6b4e00;stroke-width:1.2}.sparseback{fill:#efe3bd}.dot{fill:#34506b}.dotback{fill:#d7e1ea}.stripline{stroke:#a39d88;stroke-width:.8}
@media screen and (prefers-color-scheme:dark){
text{fill:#dfe1e0}.small{fill:#a4aaad}.paper{fill:#191c1e}.board{fill:#2d3331;stroke:#9aa19d}
.nocontour{stroke:#8c9296}.rival{stroke:#9dbfe0}.strip{stroke:#77735f}.hole{fill:#191c1e;stroke:#9aa19d}.circle{stroke:#9a9fa2}
.land,.disc{fill:#a67c2d}.land.free{fill:none;stroke:#a67c2d}.freering{stroke:#cdb369}
.body{fill:#5c686f;stroke:#b4bdc2}.empty{fill:none;stroke:#7d858a}.greatest{fill:none;stroke:#9aa1a5}
.marked{fill:url(#hatch);stroke:#f0a36f}.marked.warn{fill:url(#sparse);stroke:#dcbf62}
.marked.open{fill:url(#dots);stroke:#9dbfe0}.marked.greatest{fill:none}.ref{fill:#f4f5f4}
.sparseline{stroke:#dcbf62}.sparseback{fill:#443b1c}.dot{fill:#9dbfe0}.dotback{fill:#26384a}
.pin1{fill:#f4f5f4;stroke:#f4f5f4}.assumed{fill:none}
.leader,.ring{stroke:#f0a36f}.flag{fill:#f0a36f;stroke:#191c1e}
.warn .leader,.ring.warn{stroke:#dcbf62}.warn .flag{fill:#dcbf62}
.open .leader,.ring.open{stroke:#9dbfe0}.open .flag{fill:#9dbfe0}
.flagtext{fill:#191c1e}.scale{stroke:#a4aaad}
.fid{fill:#cdb369;stroke:#dfe1e0}.fidcross{stroke:#dfe1e0}.plus{stroke:#8c9296}
.hatchline{stroke:#f0a36f}.hatchback{fill:#4a3020}.stripline{stroke:#6f6b59}}
"""

SYMBOLS: Final = """
<pattern id="hatch" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
<rect class="hatchback" width="5" height="5"/><line class="hatchline" x1="0" y1="0" x2="0" y2="5"/></pattern>
<pattern id="sparse" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">
<rect class="sparseback" width="9" height="9"/><line class="sparseline" x1="0" y1="0" x2="0" y2="9"/></pattern>
<pattern id="dots" width="5" height="5" patternUnits="userSpaceOnUse">
<rect class="dotback" width="5" height="5"/><circle class="dot" cx="2.5" cy="2.5" r=".9"/></pattern>
<pattern id="lines" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">
<line class="stripline" x1="0" y1="0" x2="0" y2="7"/></pattern>
<g id="mark"><circle class="fid" r="3"/><path class="fidcross" d="M-7 0H-4M4 0H7M0 -7V-4M0 4V7"/></g>
<path id="other" class="plus" d="M-3 0H3M0 -3V3"/>
<g id="unknown" stroke-dasharray="3 2"><path d="M0 -6L6 0L0 6L-6 0Z"/></g>
"""
