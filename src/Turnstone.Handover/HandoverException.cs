namespace Turnstone.Handover;

/// <summary>The hand-over cannot go on: what is wrong, where, and what to do. The half-made bag is marked as unfinished.</summary>
public sealed class HandoverException(string message, Exception? inner = null) : Exception(message, inner);
