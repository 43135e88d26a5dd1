// These tests start servers, devices and programs, and kill some of them: one after another they stay in time on two cores.
[assembly: Xunit.v3.Parallelization(Mode = Xunit.Sdk.ParallelMode.None)]
[assembly: Trait("kind", "slow")]
