from .archive import (
    OF_MANY_BOARDS as OF_MANY_BOARDS,
    Limits as Limits,
    folder_of_archive as folder_of_archive,
    is_archive as is_archive,
    links_in as links_in,
    removed_at_the_end as removed_at_the_end,
    shown as shown,
    unpack as unpack,
    unpacked as unpacked,
    unpacked_elsewhere as unpacked_elsewhere,
    unpacked_files_kept as unpacked_files_kept,
    unpacked_from as unpacked_from,
)
from .archive_names import as_given as as_given, named_by_archive as named_by_archive
from .git_folder import folder_of_git as folder_of_git, is_git_folder as is_git_folder
from .member_places import MemberPlaces as MemberPlaces, plain as plain
