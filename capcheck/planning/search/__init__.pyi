from .balance_at_last import evened as evened
from .balancing import Balance as Balance, as_balance as as_balance, balance as balance, lower_bound as lower_bound
from .deadline import Deadline as Deadline
from .fewest_feeders import Feeders as Feeders, with_fewest_feeders as with_fewest_feeders
from .infeasible import Reason as Reason, smallest_reason as smallest_reason
from .local_search import improved as improved
from .milp import Progress as Progress, Status as Status
from .set_up_order import SetUpOrder as SetUpOrder, fewest_moves as fewest_moves
from .stations import Stations as Stations, Unit as Unit
from .without_solver import first_fit as first_fit
