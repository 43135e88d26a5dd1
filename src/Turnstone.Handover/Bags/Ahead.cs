namespace Turnstone.Handover;

/// <summary>Works on several things at a time and gives the answers in the order of the questions.</summary>
internal static class Ahead
{
    /// <summary>Answers in order; never more than <paramref name="most"/> are being worked on.</summary>
    /// <param name="items">Taken one at a time, on the caller's thread.</param>
    /// <param name="work">Called on several threads; what it throws comes out in the place of its answer.</param>
    /// <param name="alone">Which things get the machine for themselves: they divide their own work.</param>
    /// <param name="most">How many may be under way.</param>
    public static IEnumerable<TOut> InOrder<TIn, TOut>(IEnumerable<TIn> items, Func<TIn, TOut> work, Func<TIn, bool> alone, int most)
    {
        var underWay = new Queue<Task<TOut>>();
        try
        {
            foreach (TIn item in items)
            {
                bool single = alone(item);
                while (underWay.Count >= (single ? 1 : most))
                    yield return underWay.Dequeue().GetAwaiter().GetResult();
                if (single)
                    yield return work(item);
                else
                    underWay.Enqueue(Task.Run(() => work(item)));
            }

            while (underWay.TryDequeue(out Task<TOut>? next))
                yield return next.GetAwaiter().GetResult();
        }
        finally
        {
            // Nobody may still be writing when the caller hears of a failure.
            Task.WhenAll(underWay).ContinueWith(_ => { }, TaskScheduler.Default).Wait();
        }
    }
}
