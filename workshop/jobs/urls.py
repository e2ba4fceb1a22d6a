"""Pages of a card, under /m/."""

from django.urls import path

from workshop.jobs import views

app_name = "jobs"
urlpatterns = [
    path("new/", views.enquiry, name="enquiry"),
    path("new/known/", views.known, name="known"),
    path("card/<int:pk>/", views.card, name="card"),
    path("card/<int:pk>/complaint/", views.complaint_new, name="complaint_new"),
    path("complaint/<uuid:uid>/outcome/", views.outcome, name="outcome"),
    path("card/<int:pk>/line/", views.line_new, name="line_new"),
    path("card/<int:pk>/catalogue/", views.catalogue, name="catalogue"),
    path("card/<int:pk>/put-on/", views.put_on, name="put_on"),
    path("card/<int:pk>/kit/", views.kit_new, name="kit_new"),
    path("line/<uuid:uid>/keep/", views.operation_new, name="operation_new"),
    path("card/<int:pk>/step/", views.step_new, name="step_new"),
    path("card/<int:pk>/note/", views.note, name="note"),
    path("card/<int:pk>/advise/", views.advise, name="advise"),
    path("card/<int:pk>/ready/", views.ready, name="ready"),
    path("card/<int:pk>/facts/", views.facts, name="facts"),
    path("card/<int:pk>/work-sheet/", views.work, name="work"),
    path("card/<int:pk>/stop-work/", views.stop_work, name="stop_work"),
    path("card/<int:pk>/strip/", views.strip_new, name="strip_new"),
    path("card/<int:pk>/leave/", views.leave, name="leave"),
    path("leaving/<uuid:uid>/back/", views.come_back, name="come_back"),
    path("step/<uuid:uid>/open/", views.open_step, name="open_step"),
    path("opening/<uuid:uid>/bags/", views.bags, name="bags"),
    path("opening/<uuid:uid>/covers/", views.covers, name="covers"),
    path("opening/<uuid:uid>/closed/", views.closed, name="closed"),
    path("spell/<uuid:uid>/", views.spell, name="spell"),
    path("part/<int:pk>/fitted-new/", views.fitted_new, name="fitted_new"),
    path("part/<int:pk>/in-hand/", views.in_hand, name="in_hand"),
    path("card/<int:pk>/closing/", views.closing, name="closing"),
    path("card/<int:pk>/close/", views.close, name="close"),
    path("line/<uuid:uid>/", views.line, name="line"),
    path("line/<uuid:uid>/start/", views.start, name="start"),
    path("line/<uuid:uid>/finish/", views.finish, name="finish"),
]
