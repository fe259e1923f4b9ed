from .capability import CPK_CAPABLE as CPK_CAPABLE, Capability as Capability, capability_of as capability_of
from .joints import Joint as Joint, Missing as Missing, joint_of as joint_of
