using Turnstone.Patients.Scenarios;

namespace Turnstone.Patients;

/// <summary>Opens a described drive as a source: what 'patient:FILE.json' names.</summary>
public static class PatientFile
{
    /// <summary>Reads the scenario and makes its drive, or says where the description is at fault.</summary>
    public static Checked<Patient> Open(string path) => ScenarioFile.Open(path).Match<Checked<Patient>>(
        scenario =>
        {
            try
            {
                return new Checked<Patient>.Value(new Patient(scenario, $"patient:{path}"));
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                return new Checked<Patient>.Refused("$.content.path", e.Message);
            }
        },
        refused => new Checked<Patient>.Refused(refused.JsonPath, refused.What));
}
