namespace Turnstone.Patients;

/// <summary>Finds a place in things that lie in order.</summary>
internal static class Ordered
{
    /// <summary>Number of the first item that ends after a value; the count of items when none does.</summary>
    /// <param name="items">In ascending order of their ends.</param>
    /// <param name="value">What the end is held against.</param>
    /// <param name="end">An item's end: the first value that lies after it.</param>
    public static int FirstEndingAfter<T>(ReadOnlySpan<T> items, long value, Func<T, long> end)
    {
        int low = 0, high = items.Length;
        while (low < high)
        {
            int middle = (low + high) / 2;
            if (end(items[middle]) <= value)
                low = middle + 1;
            else
                high = middle;
        }

        return low;
    }
}
