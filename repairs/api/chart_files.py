"""Charts as a file: what a maker prints is typed once, into a spreadsheet."""

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from repairs.api.doors import Doors
from repairs.api.orders import FaultOut
from repairs.api.strict import StrictSerializer, read
from repairs.api.text_files import text_of
from repairs.domain.chart_file import SUCH_AS, read_charts
from repairs.domain.order_file import NotAnOrderFile, cut_csv
from repairs.domain.problem import malformed
from repairs.domain.roles import Role
from repairs.services.import_charts import ALREADY_THERE, NOT_STORED, STORED, import_charts


class ChartFileIn(StrictSerializer):
    """A CSV with a line a printed row."""

    file = serializers.FileField()


class ChartAnswerOut(serializers.Serializer):
    """What became of a chart: stored with its warnings, or not stored with what is wrong."""

    chart = serializers.CharField()
    lines = serializers.ListField(child=serializers.IntegerField())
    outcome = serializers.CharField()
    chart_id = serializers.UUIDField(allow_null=True)
    faults = FaultOut(many=True)
    warnings = serializers.ListField(child=serializers.CharField())


class ChartFileAnswerOut(serializers.Serializer):
    """The counts, then every chart of the file."""

    stored = serializers.IntegerField()
    already_there = serializers.IntegerField()
    not_stored = serializers.IntegerField()
    charts = ChartAnswerOut(many=True)


class ChartFileView(APIView):
    """Take a file of charts."""

    doors: Doors = {"POST": frozenset({Role.DISPATCHER, Role.ADMINISTRATOR, Role.SERVICE})}
    parser_classes = [MultiPartParser]

    @extend_schema(request={"multipart/form-data": ChartFileIn}, responses=ChartFileAnswerOut)
    def post(self, request: Request) -> Response:
        """Store each chart that is whole; the answer names what is wrong with the others."""
        text = text_of(read(ChartFileIn, request)["file"])
        try:
            charts = read_charts(cut_csv(text, SUCH_AS))
        except NotAnOrderFile as error:
            raise malformed(error.fault) from error
        answers = import_charts(charts=charts)
        outcomes = [answer.outcome for answer in answers]
        body = {
            "stored": outcomes.count(STORED),
            "already_there": outcomes.count(ALREADY_THERE),
            "not_stored": outcomes.count(NOT_STORED),
            "charts": answers,
        }
        return Response(ChartFileAnswerOut(body).data)
