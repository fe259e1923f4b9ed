from .displaced import (
    DISPLACING as DISPLACING,
    PassedOver as PassedOver,
    refuse_passed_over as refuse_passed_over,
)
from .form import LISTING as LISTING, NAMING as NAMING, Form as Form, form_of as form_of
from .lands import pitch_of as pitch_of
from .onto_parts import Stated as Stated, with_fabrication as with_fabrication
from .own_lists import lists_of_parts as lists_of_parts
