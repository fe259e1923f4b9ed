from .reader import Reader as Reader
