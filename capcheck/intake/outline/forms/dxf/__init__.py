"""DXF, text and binary, R12 to R2018."""

from capcheck.intake.outline.forms.dxf.document import FORM as FORM
