from .served import serve as serve
