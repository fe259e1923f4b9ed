from .handling import handling_list as handling_list
from .nozzle_needs import nozzle_list as nozzle_list
from .order_quantity import losses_in_force as losses_in_force, order_list as order_list
from .part_list import Cell as Cell, ListRow as ListRow, PartList as PartList
from .pin_1_sheet import pin_1_list as pin_1_list
from .probe_lands import probing_list as probing_list
